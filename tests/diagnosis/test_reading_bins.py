"""Readings as steps to come: bins that are distributions, and agree with the densities."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from made_models import every_set
from made_readings import reading_check, with_readings
from tubside.diagnosis.belief import believe_sets
from tubside.diagnosis.evidence import IS, Evidence, Measured
from tubside.diagnosis.options import looked_at, said_table
from tubside.diagnosis.reading_bins import BINS, binned, shown_numbers
from tubside.diagnosis.reading_density import added_log
from tubside.pack.fault_model import FaultModel

SETS = every_set(5)


def first(model: FaultModel) -> int:
    """Index of the first reading check."""
    return next(n for n, check in enumerate(model.checks) if check.reading is not None)


def test_bins_are_a_distribution_for_every_set() -> None:
    """Tests that the chances of the bins sum to one, and that none is impossible."""
    model = with_readings((reading_check("flow", share=0.1),))
    belief = believe_sets(model, Evidence(), SETS)
    found = binned(model, Evidence(), belief, model.checks[first(model)], 1)
    assert found.said.shape == (len(SETS), BINS)
    np.testing.assert_allclose(found.said.sum(axis=1), 1.0)
    assert found.said.min() > 0.0
    assert (np.diff(found.edges) > 0.0).all()


def test_bins_are_alike_likely_for_the_leading_hypotheses() -> None:
    """Tests that the edges are quantiles of what is believed to come."""
    model = with_readings((reading_check("flow", share=0.1),))
    belief = believe_sets(model, Evidence(), SETS)
    found = binned(model, Evidence(), belief, model.checks[first(model)], 1)
    np.testing.assert_allclose(belief.probability @ found.said, 1.0 / BINS, atol=0.05)


def test_bins_and_density_say_the_same_of_each_set() -> None:
    """Tests a bin's chance against the density summed over it, for every set."""
    model = with_readings((reading_check("pressure", plain=0.5),))
    check = first(model)
    belief = believe_sets(model, Evidence(), SETS)
    found = binned(model, Evidence(), belief, model.checks[check], 1)
    low, high = float(found.edges[1]), float(found.edges[2])
    grid = np.linspace(low, high, 41)
    step = (grid[1] - grid[0]) / model.predicting.usual("pressure").unit  # type: ignore[union-attr]
    total = np.zeros(len(SETS))
    for value in (grid[1:] + grid[:-1]) / 2.0:
        total += np.exp(added_log(model, (), Measured(check, float(value), IS, 1), belief.rows))
    np.testing.assert_allclose(found.said[:, 2], total * step, atol=0.04)


def test_earlier_readings_narrow_what_is_to_come() -> None:
    """Tests that a flow to come is told to a fifth once the pressure is known to 2 %."""
    checks = (reading_check("flow", share=0.02), reading_check("pressure", plain=0.05))
    model = with_readings(checks, spread=3.0)
    check = first(model)
    known = Evidence(readings=(Measured(check + 1, 12.0, IS, 1),))

    def spread(evidence: Evidence) -> float:
        rows = believe_sets(model, evidence, SETS).rows
        shown = shown_numbers(model, evidence, rows, model.checks[check], 1)
        sound = int(shown.signed.index[0])
        logs, weights = np.log(shown.numbers[sound]), shown.weights[sound]
        return float(np.sqrt(np.average((logs - weights @ logs) ** 2, weights=weights)))

    assert spread(Evidence()) == pytest.approx(np.hypot(0.32, 0.2), abs=0.06)
    assert spread(known) == pytest.approx(0.2, abs=0.06)


def test_a_time_without_end_has_a_bin() -> None:
    """Tests that what may never come leaves its own last bin, and that sums stay one."""
    model = with_readings((reading_check("until", share=0.02, plain=0.01),))
    belief = believe_sets(model, Evidence(), SETS)
    found = binned(model, Evidence(), belief, model.checks[first(model)], 1)
    np.testing.assert_allclose(found.said.sum(axis=1), 1.0)
    weak = (SETS.members == (np.arange(5) == 1)).all(axis=1)
    assert found.said[weak, -1] > 0.05


def test_a_reading_is_an_option_like_any_other() -> None:
    """Tests that the planner's table comes from the bins, one look a quantity."""
    checks = (reading_check("flow"), reading_check("flow"), reading_check("lift"))
    model = with_readings(checks)
    belief = believe_sets(model, Evidence(), SETS)
    check = first(model)
    table = said_table(model, Evidence(), belief, model.checks[check], 1)
    np.testing.assert_allclose(table.sum(axis=1), 1.0)
    seen = looked_at(model)[check:]
    assert seen[0] == seen[1] != seen[2]
    assert min(seen) >= len(model.findings)


def test_nothing_predicts_nothing() -> None:
    """Tests that a reading without a machine is refused by name."""
    model = replace(with_readings((reading_check("flow"),)), predicting=None)
    belief = believe_sets(model, Evidence(), SETS)
    with pytest.raises(ValueError, match="reads no number"):
        binned(model, Evidence(), belief, model.checks[first(model)], 1)
