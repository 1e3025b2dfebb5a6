"""Tests of P(outcome of a finding | set of causes)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from made_models import Shape, every_set, made_model
from tubside.diagnosis.states import seen_table, showing, state_table
from tubside.pack.fault_model import Finding
from tubside.pack.loading import LoadedPack

HEALTHY = np.array([0.1, 0.2, 0.7])
ROWS = np.array([[0.6, 0.3, 0.1], [0.2, 0.5, 0.3]])
SETS = np.array([[0, 0, 0], [1, 0, 0], [0, 0, 1], [1, 0, 1], [0, 1, 0]], dtype=bool)


def finding(*, graded: bool = True, rows: object = ROWS, needs_fault: bool = False) -> Finding:
    """Return a finding that causes 0 and 2 alter."""
    return Finding(HEALTHY, np.array([0, 2]), np.array(rows), graded, needs_fault)


def test_one_cause_gives_its_own_row(any_pack: LoadedPack) -> None:
    """Tests every finding of every pack: healthy and single causes as stated."""
    for one in any_pack.model.findings:
        n = any_pack.model.n_causes
        sets = np.vstack([np.zeros((1, n), dtype=bool), np.eye(n, dtype=bool)[one.touched]])
        table = state_table(one, sets)
        assert table[0] == pytest.approx(one.healthy, abs=1e-11)
        assert table[1:] == pytest.approx(one.rows, abs=1e-11)


def test_grades_combine_by_noisy_max() -> None:
    """Tests two causes by hand: P(at least o) is the product of their ratios to healthy."""
    table = state_table(finding(), SETS)
    at_least_1 = 0.9 * (0.4 / 0.9) * (0.8 / 0.9)
    at_least_2 = 0.7 * (0.1 / 0.7) * (0.3 / 0.7)
    assert table[3] == pytest.approx([1 - at_least_1, at_least_1 - at_least_2, at_least_2])
    assert table[4] == pytest.approx(HEALTHY)


def test_first_in_dominance_decides_kinds() -> None:
    """Tests that of two causes the first in the order gives its row."""
    table = state_table(finding(graded=False), SETS)
    assert table == pytest.approx(np.array([HEALTHY, ROWS[0], ROWS[1], ROWS[0], HEALTHY]))


def test_rows_that_speak_for_health_stay_chances(any_pack: LoadedPack) -> None:
    """Tests that sets of up to four causes give distributions, whatever the rows."""
    rng = np.random.default_rng(0)
    n = any_pack.model.n_causes
    for one in any_pack.model.findings:
        size = min(4, len(one.touched))
        members = np.zeros((20, n), dtype=bool)
        for row in members:
            row[rng.choice(one.touched, size, replace=False)] = True
        table = state_table(one, members)
        assert table.min() >= -1e-15
        assert table.sum(axis=1) == pytest.approx(np.ones(20), abs=1e-11)


def test_better_than_healthy_is_cut() -> None:
    """Tests two causes that both speak for health: the product above 1 is cut to 1."""
    table = state_table(finding(rows=[[0.0, 0.0, 1.0], [0.0, 0.0, 1.0]]), SETS)
    assert table[3] == pytest.approx([0.0, 0.0, 1.0])


def test_fault_that_does_not_show_looks_healthy() -> None:
    """Tests that a finding which needs the fault is mixed by the chance of showing."""
    model = made_model(Shape(causes=3, axis=False, leads=False))
    model = replace(model, findings=(finding(needs_fault=True),), shows=np.array([0.25, 1.0, 0.5]))
    table = seen_table(model, 0, SETS)
    plain = state_table(finding(), SETS)
    shows = np.array([0.0, 0.25, 0.5, 1 - 0.75 * 0.5, 0.0])[:, None]
    assert table == pytest.approx(shows * plain + (1 - shows) * HEALTHY, abs=1e-11)


def test_others_that_show_make_nothing_of_a_finding() -> None:
    """Tests that a cause which alters no outcome does not make another's fault show."""
    model = made_model(Shape(causes=3, axis=False, leads=False))
    model = replace(model, findings=(finding(needs_fault=True),), shows=np.array([0.25, 1.0, 0.5]))
    alone, beside = np.array([[1, 0, 0]], dtype=bool), np.array([[1, 1, 0]], dtype=bool)
    assert np.array_equal(seen_table(model, 0, beside), seen_table(model, 0, alone))


def test_chance_that_something_shows() -> None:
    """Tests showing: one minus the product of not showing."""
    model = made_model(Shape(causes=4, seed=3))
    members = every_set(4).members
    wanted = [1.0 - np.prod(1.0 - model.shows[row]) for row in members]
    assert showing(model, members) == pytest.approx(wanted, abs=1e-11)
