"""Tests of sets of causes and their paths through remedies."""

from __future__ import annotations

import numpy as np
import pytest

from made_models import Shape, every_set, made_model
from tubside.diagnosis.evidence import FAILS, Answer, Evidence, Treatment
from tubside.diagnosis.hypotheses import (
    Sets,
    follow,
    healthy_sets,
    joined,
    log_prior,
    prior_now,
    single_sets,
)

MODEL = made_model(Shape(causes=5, seed=1))


def remedies(*clears: list[float]) -> Evidence:
    """Return evidence of remedies that clear causes with these chances."""
    return Evidence(treatments=tuple(Treatment(np.array(c), FAILS) for c in clears))


def test_paths_of_a_set_sum_to_one() -> None:
    """Tests that what may be left of each set is a distribution, over two remedies."""
    rows = follow(remedies([0.9, 0.0, 0.4, 0.0, 1.0], [0.5, 0.2, 0.0, 0.0, 0.3]), every_set(5))
    total = np.zeros(len(every_set(5)))
    np.add.at(total, rows.owner, np.exp(rows.log_path))
    assert total == pytest.approx(np.ones(len(total)), abs=1e-12)


def test_paths_by_hand() -> None:
    """Tests a pair through a remedy that clears one cause mostly, the other sometimes."""
    pair = Sets(np.array([[True, True, False, False, False]]), np.array([-1]))
    rows = follow(remedies([0.9, 0.4, 0.0, 0.0, 0.0]), pair)
    found = {tuple(row[:2]): p for row, p in zip(rows.now.tolist(), rows.log_path, strict=True)}
    assert {k: float(np.exp(v)) for k, v in found.items()} == {
        (False, False): pytest.approx(0.36),
        (False, True): pytest.approx(0.54),
        (True, False): pytest.approx(0.04),
        (True, True): pytest.approx(0.06),
    }
    assert rows.sets.members.tolist() == pair.members.tolist() * 4


def test_impossible_paths_are_dropped() -> None:
    """Tests that a remedy that always clears leaves one path."""
    rows = follow(remedies([1.0, 0.0, 0.0, 0.0, 0.0]), single_sets(5))
    assert len(rows.owner) == 5
    assert not rows.now[0].any()
    assert rows.states[0].tolist() == single_sets(5).members.tolist()


def test_what_is_left_never_grows() -> None:
    """Tests that each state is a part of the one before."""
    rows = follow(remedies([0.5] * 5, [0.2] * 5, [0.0] * 5), every_set(5))
    for before, after in zip(rows.states, rows.states[1:], strict=False):
        assert not (after & ~before).any()
    assert np.array_equal(rows.states[2], rows.states[3])


def test_age_and_variants_are_in_the_prior() -> None:
    """Tests that age scales odds, answers on variants reweigh, and healthy rows stay."""
    check = len(MODEL.checks) - 1
    evidence = Evidence(age_years=2.7, answers=(Answer(check, 1, 1, 0),))
    prior, scale = prior_now(MODEL, evidence)
    assert prior.odds == pytest.approx(MODEL.prior.odds * MODEL.age_factor[:, 2])
    likelihood = np.array([0.01, 0.98, 0.01])
    assert prior.axes[0].shares == pytest.approx(MODEL.prior.axes[0].shares * likelihood)
    healthy = np.exp(log_prior(prior, scale, healthy_sets(5)))
    shares = float(MODEL.prior.axes[0].shares @ likelihood)
    assert healthy == pytest.approx(MODEL.prior.healthy * shares)


@pytest.mark.parametrize(("age", "year"), [(0.0, 0), (0.99, 0), (11.0, 11), (50.0, 11)])
def test_ages_beyond_the_last_are_the_last(age: float, year: int) -> None:
    """Tests that whole years count, and the last year holds all older machines."""
    prior, _ = prior_now(MODEL, Evidence(age_years=age))
    assert prior.odds == pytest.approx(MODEL.prior.odds * MODEL.age_factor[:, year])


def test_sets_are_joined_in_order() -> None:
    """Tests the two healthy hypotheses and the single causes, one after the other."""
    sets = joined([healthy_sets(5), single_sets(5)])
    assert sets.healthy.tolist() == [0, 1, -1, -1, -1, -1, -1]
    assert sets.members.sum(axis=1).tolist() == [0, 0, 1, 1, 1, 1, 1]
    assert len(sets) == 7
