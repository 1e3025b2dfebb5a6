"""A check that needs a stage to run is not proposed while a gate before it fails."""

from __future__ import annotations

import numpy as np
import pytest

from tubside.diagnosis.likelihood import first_believed
from tubside.diagnosis.options import runs
from tubside.service.advise import Advice, advise
from tubside.service.job_file import parse_job
from tubside.service.knowledge import knowledge_of


def advised(reported: str) -> Advice:
    """Advice on a front-loader of which one condition was reported."""
    source = parse_job(f"family: front_load\nreported: [{reported}]\nwhere: site\n")
    return advise(source, knowledge_of(source.job), 600)


def chance(advice: Advice, stage: str) -> float:
    """P(the stage can be run now)."""
    model, belief = advice.known.model, advice.belief
    first = first_believed(model, advice.evidence, belief.rows, belief.probability)
    assert first.sum() == pytest.approx(1.0, abs=1e-9)
    return runs(model, first, model.names.stages.index(stage))


def test_a_machine_that_does_not_drain_cannot_spin() -> None:
    """Tests that listening to the spin is not proposed when the drain fails."""
    advice = advised("wont_drain")
    assert chance(advice, "spin") < 0.2
    names = advice.known.model.names.checks
    paying = [names[s.index] for s in advice.steps if s.kind == "check" and s.pays]
    assert "spin-sound" not in paying


def test_a_noisy_machine_can_spin() -> None:
    """Tests that a symptom, and a stop in a stage that is no gate, leave the spin open."""
    assert chance(advised("noisy"), "spin") > 0.9
    assert chance(advised("no_water"), "spin") > 0.7


def test_a_check_without_a_stage_is_always_open() -> None:
    """Tests that no stage means nothing to wait for."""
    model = advised("noisy").known.model
    assert runs(model, np.ones(len(model.names.conditions)), -1) == 1.0
