"""Tests of what a check is worth."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.diagnosis.worth import (
    Floats,
    entropy,
    evpi,
    evsi,
    information_gain,
    posterior,
    predictive,
    surprise,
    value_now,
)

SEEDS = st.integers(0, 10_000)


def drawn(seed: int) -> tuple[Floats, Floats, Floats]:
    """Return a prior, a table and payoffs of a small random problem."""
    rng = np.random.default_rng(seed)
    n, k, d = rng.integers(2, 6, size=3)
    return rng.dirichlet(np.ones(n)), rng.dirichlet(np.ones(k), size=n), rng.normal(size=(n, d))


@given(SEEDS)
def test_sample_information_is_worth_at_most_perfect(seed: int) -> None:
    """Tests that 0 <= EVSI <= EVPI."""
    prior, table, payoffs = drawn(seed)
    assert 0 <= evsi(prior, table, payoffs) <= evpi(prior, payoffs) + 1e-12


@given(SEEDS)
def test_a_perfect_check_is_worth_the_perfect_value(seed: int) -> None:
    """Tests that a check which tells the hypothesis is worth EVPI and tells all bits."""
    prior, _, payoffs = drawn(seed)
    telling = np.eye(len(prior))
    assert evsi(prior, telling, payoffs) == pytest.approx(evpi(prior, payoffs))
    assert information_gain(prior, telling) == pytest.approx(entropy(prior))


@given(SEEDS)
def test_a_check_with_equal_rows_is_worth_nothing(seed: int) -> None:
    """Tests that what answers the same whatever is wrong has no worth in money or bits."""
    prior, table, payoffs = drawn(seed)
    same = np.tile(table[0], (len(prior), 1))
    assert evsi(prior, same, payoffs) == pytest.approx(0, abs=1e-12)
    assert information_gain(prior, same) == pytest.approx(0, abs=1e-12)


@given(SEEDS)
def test_posteriors_average_to_the_prior(seed: int) -> None:
    """Tests that belief after the check, averaged over its outcomes, is the belief before."""
    prior, table, _ = drawn(seed)
    outcomes = predictive(prior, table)
    average = sum(p * posterior(prior, table, o) for o, p in enumerate(outcomes))
    assert average == pytest.approx(prior, abs=1e-12)


@given(SEEDS)
def test_gain_is_the_expected_fall_of_entropy(seed: int) -> None:
    """Tests that the two ways to write information gain agree."""
    prior, table, _ = drawn(seed)
    after = sum(
        p * entropy(posterior(prior, table, o)) for o, p in enumerate(predictive(prior, table))
    )
    assert information_gain(prior, table) == pytest.approx(entropy(prior) - after, abs=1e-9)


def test_bits_and_money_disagree() -> None:
    """Tests the golden negative: the more telling check can be the worthless one."""
    prior = np.array([0.25, 0.25, 0.25, 0.25])
    payoffs = np.array([[0.0, -1.0], [0.0, -1.0], [0.0, -1.0], [-9.0, 0.0]])
    halves = np.array([[1.0, 0.0], [0.0, 1.0], [1.0, 0.0], [0.0, 1.0]])
    dear_one = np.array([[1.0, 0.0], [1.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    assert information_gain(prior, halves) > information_gain(prior, dear_one)
    assert evsi(prior, halves, payoffs) < evsi(prior, dear_one, payoffs)
    assert evpi(prior, payoffs) == pytest.approx(evsi(prior, dear_one, payoffs))


def test_costs_as_negative_payoffs() -> None:
    """Tests that the best decision is the cheapest when payoffs are costs with a minus."""
    assert value_now(np.array([0.5, 0.5]), -np.array([[10.0, 4.0], [0.0, 4.0]])) == -4.0


def test_certain_things_tell_nothing() -> None:
    """Tests the ends of the scale of bits."""
    assert surprise(1.0) == 0.0
    assert entropy(np.array([1.0, 0.0])) == 0.0
    with pytest.raises(ValueError, match="no chance"):
        surprise(0.0)


@pytest.mark.parametrize(
    ("prior", "table", "message"),
    [
        ([0.5, 0.4], [[1.0], [1.0]], "the prior"),
        ([0.5, 0.5], [[0.9, 0.0], [0.5, 0.5]], "a row of the table"),
        ([0.5, 0.5], [[1.0]], "2 hypotheses but 1 rows"),
    ],
)
def test_bad_tables_are_refused(prior: list[float], table: list[list[float]], message: str) -> None:
    """Tests that tables which are no chances are refused."""
    with pytest.raises(ValueError, match=message):
        predictive(np.array(prior), np.array(table))


def test_an_impossible_outcome_is_refused() -> None:
    """Tests that belief is never divided by nothing."""
    with pytest.raises(ValueError, match="outcome 1 is impossible"):
        posterior(np.array([0.5, 0.5]), np.array([[1.0, 0.0], [1.0, 0.0]]), 1)
