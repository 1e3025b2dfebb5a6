"""Tests of re-runs and of how often it was, against writing out what raised the condition."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from made_models import Shape, every_set, made_model
from tubside.diagnosis.evidence import FAILS, WORKS, Evidence, Treatment
from tubside.diagnosis.hypotheses import Rows, Sets, follow
from tubside.diagnosis.reruns import STRAY_FAILURE, how_often, raised_by, reruns, shows_again
from tubside.pack.fault_model import FaultModel, Floats


def plain(model: FaultModel, rows: Rows, row: int, condition: int, results: list[int]) -> float:
    """Return P(results | row, condition came first) over every pattern of what raised it.

    Which causes (and the leak) raised the condition stays as it is; on each run every
    one of them that is left shows or does not.
    """
    present = np.flatnonzero(rows.sets.members[row])
    q, leak = model.complaint.q[present, condition], model.complaint.leak[condition]
    total, whole = 0.0, 0.0
    for raised in product((False, True), repeat=len(present) + 1):
        chance = np.prod(np.where(raised, [*q, leak], [*(1 - q), 1 - leak]))
        if not any(raised):
            continue
        whole += chance
        for epoch, result in enumerate(results, start=1):
            left = rows.states[epoch][row, present] & np.array(raised[:-1])
            quiet = np.prod(1.0 - model.shows[present][left])
            fails = STRAY_FAILURE + (1.0 - STRAY_FAILURE) * (1.0 - quiet)
            chance *= fails if result == FAILS else 1.0 - fails
        total += chance
    return float(total / whole)


def treated(model: FaultModel, results: list[int]) -> tuple[Evidence, Rows]:
    """Return a job of one remedy for each result, and the rows of all sets through them."""
    rng = np.random.default_rng(len(results))
    n = model.n_causes
    treatments = tuple(
        Treatment(np.eye(n)[i % n] * rng.uniform(0.3, 0.9), result)
        for i, result in enumerate(results)
    )
    evidence = Evidence(treatments=treatments)
    return evidence, follow(evidence, every_set(n))


def compare(model: FaultModel, results: list[int]) -> None:
    """Assert that re-runs agree with the patterns, for all rows with a fault."""
    evidence, rows = treated(model, results)
    found = reruns(model, evidence, rows)
    for row in np.flatnonzero(rows.sets.healthy < 0)[::3]:
        for condition in range(found.shape[1]):
            wanted = plain(model, rows, int(row), condition, results)
            assert found[row, condition] == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize("result", [FAILS, WORKS])
def test_one_rerun(result: int) -> None:
    """Tests a first re-run of every set, causes that come and go included."""
    compare(made_model(Shape(causes=4, seed=7)), [result])


@pytest.mark.parametrize("results", [[FAILS, FAILS, FAILS], [FAILS, WORKS], [WORKS, FAILS]])
def test_several_reruns_of_faults_that_always_show(results: list[int]) -> None:
    """Tests that what raised the condition is one state over several re-runs."""
    model = made_model(Shape(causes=4, seed=7))
    compare(replace(model, shows=np.ones(4)), results)


@pytest.mark.parametrize("results", [[FAILS, WORKS, FAILS], [WORKS, WORKS, WORKS]])
def test_several_reruns_of_one_fault_that_comes_and_goes(results: list[int]) -> None:
    """Tests that one cause shows anew on each run, having raised the condition or not."""
    model = made_model(Shape(causes=1, axis=False, leads=False, findings=0, seed=9))
    compare(replace(model, shows=np.array([0.4])), results)


def test_outcomes_of_reruns_sum_to_one() -> None:
    """Tests that over all results of three re-runs the chances sum to one."""
    model = made_model(Shape(causes=5, seed=4))
    total = np.zeros(())
    for results in product((FAILS, WORKS), repeat=3):
        evidence, rows = treated(model, list(results))
        total = total + reruns(model, evidence, rows)
    assert total == pytest.approx(np.ones_like(total), abs=1e-12)


def test_remedy_without_a_rerun_tells_nothing_by_itself() -> None:
    """Tests that a remedy not followed by a run multiplies by one."""
    model = made_model(Shape(causes=3, seed=4))
    evidence = Evidence(treatments=(Treatment(np.full(3, 0.5), None),))
    rows = follow(evidence, every_set(3))
    assert np.array_equal(reruns(model, evidence, rows), np.ones((len(rows.owner), 6)))


def test_coming_back_a_hundred_times_says_no_more_than_what_raised_it() -> None:
    """Tests that many failed runs end at knowing that the cause raised the condition."""
    model = replace(made_model(Shape(causes=3, axis=False, seed=4)), shows=np.ones(3))
    evidence = Evidence(treatments=(Treatment(np.zeros(3), FAILS),) * 100)
    sets = Sets(np.eye(3, dtype=bool), np.full(3, -1))
    found = reruns(model, evidence, follow(evidence, sets))
    assert found == pytest.approx(raised_by(model, sets, sets.members), abs=1e-12)
    assert found.min() < 0.9


def test_sound_machine_fails_by_its_own_chance() -> None:
    """Tests the healthy hypotheses: each re-run fails with the pack's stated chance."""
    model = made_model(Shape(causes=3, seed=4))
    evidence, rows = treated(model, [FAILS, WORKS])
    found = reruns(model, evidence, rows)[:2]
    assert found[0] == pytest.approx(np.full(6, 0.02 * 0.98))
    assert found[1] == pytest.approx(np.full(6, 0.06 * 0.94))


def test_what_cannot_raise_does_not_show_again() -> None:
    """Tests that a cause with no part in a condition neither raises nor shows it."""
    model = made_model(Shape(causes=3, seed=4))
    q = model.complaint.q.copy()
    q[1, 2] = 0.0
    model = replace(model, complaint=replace(model.complaint, q=q))
    alone = np.array([[False, True, False]])
    sets = Sets(alone, np.array([-1]))
    assert raised_by(model, sets, alone)[0, 2] == 0.0
    assert shows_again(model, alone)[0, 2] == 0.0


def by_word(model: FaultModel, sets: Sets) -> Floats:
    """Return P(word | set, first condition): (3, N, c)."""
    return np.array([how_often(model, sets, word) for word in range(3)])


def test_how_often_is_a_distribution() -> None:
    """Tests that the three words sum to one for every set and condition."""
    table = by_word(made_model(Shape(causes=5, seed=6)), every_set(5))
    assert table.sum(axis=0) == pytest.approx(np.ones(table.shape[1:]), abs=1e-12)
    assert table.min() > 0.0


def test_how_often_by_hand() -> None:
    """Tests a cause that shows half the time: of four runs all, one, or between."""
    model = made_model(Shape(causes=3, seed=6))
    told = replace(model.complaint, q=np.full_like(model.complaint.q, 0.5), leak=np.full(6, 1e-13))
    model = replace(model, shows=np.array([0.5, 1.0, 0.1]), complaint=told)
    table = by_word(model, Sets(np.eye(3, dtype=bool), np.full(3, -1)))[:, :, 0]
    half = np.array([1 / 15, 10 / 15, 4 / 15])
    assert table[:, 0] == pytest.approx(0.9 * half + 0.1 / 3, abs=1e-9)
    assert table[:, 1] == pytest.approx([0.9 + 0.1 / 3, 0.1 / 3, 0.1 / 3], abs=1e-9)
    assert table[2, 2] > table[2, 0]
