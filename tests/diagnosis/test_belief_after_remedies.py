"""Tests of the belief after a remedy, a re-run, and of how often it shows."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from believing import by_set, over_sets
from made_models import Shape, every_set, made_model
from tubside.diagnosis.belief import (
    finished,
)
from tubside.diagnosis.evidence import FAILS, WORKS, Answer, Evidence, Treatment
from tubside.diagnosis.facts import (
    HowOften,
    Reported,
)
from tubside.diagnosis.hypotheses import Sets, healthy_sets, joined, single_sets
from tubside.diagnosis.reruns import STRAY_FAILURE
from tubside.pack.fault_model import FaultModel


def single_fault(model: FaultModel) -> Sets:
    """Return both healthy hypotheses and each cause alone."""
    return joined([healthy_sets(model.n_causes), single_sets(model.n_causes)])


@pytest.mark.parametrize("chance", [0.3, 0.9, 1.0])
@pytest.mark.parametrize("shows", [0.4, 1.0])
def test_failed_remedy_shrinks_its_cause(chance: float, shows: float) -> None:
    """Tests the factor after "repaired, still fails": (1 - chance) x P(fails), and stray ones."""
    model = made_model(Shape(causes=5, axis=False, leads=False, seed=3))
    q = np.zeros_like(model.complaint.q)
    q[:, 2] = 0.8
    model = replace(
        model,
        shows=np.full(5, shows),
        complaint=replace(model.complaint, q=q, leak=np.full(6, 1e-9)),
    )
    sets = single_fault(model)
    remedy = Treatment(np.eye(5)[1] * chance, FAILS)
    before = over_sets(model, sets, Reported(2))
    after = over_sets(model, sets, Reported(2), remedy)
    scale = np.exp(after.log_evidence - before.log_evidence)
    factor = by_set(after, sets)[2:] * scale / before.probability[2:]
    fails = STRAY_FAILURE + (1.0 - STRAY_FAILURE) * shows
    wanted = np.full(5, fails)
    wanted[1] = (1.0 - chance) * fails + chance * STRAY_FAILURE
    assert factor == pytest.approx(wanted, rel=1e-6)


def test_working_again_says_mended(small_model: FaultModel) -> None:
    """Tests that a fitting remedy and a re-run that works leave little wrong."""
    sets = every_set(small_model.n_causes)
    names = small_model.names
    clears = small_model.remedies[names.remedies.index("open-taps")].clears[1]
    tap = Answer(names.checks.index("taps-open"), 0, 1, 0)
    call = Reported(names.conditions.index("no_water"))
    belief = over_sets(small_model, sets, call, tap, Treatment(clears, WORKS))
    cause = names.causes.index("tap-closed")
    assert belief.at_call()[cause] > 0.95
    assert belief.now()[cause] < 0.01
    assert belief.mended() > 0.85
    assert belief.mended() + belief.healthy().sum() < 1.0
    assert over_sets(small_model, sets, call, tap).mended() == 0.0


@pytest.mark.parametrize(("shows", "left"), [(1.0, 0.0), (0.5, 1 / 3), (0.1, 9 / 19)])
def test_passing_rerun_is_no_proof_when_it_comes_and_goes(shows: float, left: float) -> None:
    """Tests P(still there | a remedy that clears half the time, a re-run that works)."""
    model = made_model(Shape(causes=3, axis=False, leads=False, seed=1))
    q = np.full_like(model.complaint.q, 0.5)
    told = replace(model.complaint, q=q, leak=np.full(6, 1e-12))
    model = replace(model, shows=np.full(3, shows), complaint=told)
    sets = Sets(np.eye(3, dtype=bool)[:1], np.array([-1]))
    belief = over_sets(model, sets, Reported(0), Treatment(np.array([0.5, 0.0, 0.0]), WORKS))
    assert belief.now()[0] == pytest.approx(left, abs=1e-6)


def test_every_time_speaks_against_what_comes_and_goes(small_model: FaultModel) -> None:
    """Tests how often: "every time" lowers a cause that shows seldom, "sometimes" raises it."""
    names = small_model.names
    sets = every_set(small_model.n_causes)
    call = Reported(names.conditions.index("out_of_balance"))
    bunched = names.causes.index("load-bunched")
    odds = []
    for facts in ((call, HowOften(0)), (call,), (call, HowOften(1))):
        p = over_sets(small_model, sets, *facts).at_call()[bunched]
        odds.append(p / (1.0 - p))
    assert odds[0] < odds[1] < odds[2]


def test_job_is_finished_by_a_rerun_that_works() -> None:
    """Tests that only the last remedy's re-run counts, and coming back undoes it."""
    works, fails = Treatment(np.zeros(3), WORKS), Treatment(np.zeros(3), FAILS)
    assert finished(Evidence(treatments=(fails, works)))
    assert not finished(Evidence(treatments=(works, fails)))
    assert not finished(Evidence())
