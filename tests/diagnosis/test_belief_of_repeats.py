"""Tests of answers told again: they end at knowing, and without a new look add nothing."""

from __future__ import annotations

import numpy as np
import pytest

from believing import knowing, over_sets
from made_facts import outcomes
from made_models import every_set
from tubside.diagnosis.evidence import Answer, Symptom
from tubside.diagnosis.facts import (
    Reported,
    SymptomSaid,
)
from tubside.pack.fault_model import FaultModel


@pytest.mark.parametrize("observer", [0, 1])
def test_hundred_equal_answers_end_at_knowing(small_model: FaultModel, observer: int) -> None:
    """Tests every outcome of every check, said a hundred times after new looks."""
    sets = every_set(small_model.n_causes)
    start = over_sets(small_model, sets, Reported(3))
    for check in [c for c, one in enumerate(small_model.checks) if one.finding >= 0]:
        for outcome in range(outcomes(small_model, check)):
            said = [Answer(check, outcome, observer, 0, again=True)] * 100
            belief = over_sets(small_model, sets, Reported(3), *said)
            known = knowing(small_model, start, check, outcome)
            assert belief.probability == pytest.approx(known.probability, abs=1e-9)


def test_answers_come_nearer_to_knowing_but_not_past(small_model: FaultModel) -> None:
    """Tests that each repeat of a yes/no answer moves the odds on, never past knowing."""
    sets = every_set(small_model.n_causes)
    check = small_model.names.checks.index("taps-open")
    tap = small_model.names.causes.index("tap-closed")
    known = knowing(small_model, over_sets(small_model, sets), check, 0).at_call()[tap]
    chances = [
        over_sets(small_model, sets, *[Answer(check, 0, 0, 0, again=True)] * count).at_call()[tap]
        for count in range(40)
    ]
    assert (np.diff(chances) > 0.0).all()
    assert chances[-1] < known


def test_asking_a_hundred_times_ends_at_knowing(small_model: FaultModel) -> None:
    """Tests that a condition asked after again and again is not more than known."""
    sets = every_set(small_model.n_causes)
    spin = small_model.names.conditions.index("wont_spin")
    asked = [SymptomSaid(Symptom(spin, 0.92, 0.06, 0, again=True))] * 100
    belief = over_sets(small_model, sets, Reported(2), *asked)
    known = over_sets(small_model, sets, Reported(2), SymptomSaid(Symptom(spin, 1.0, 0.0)))
    assert belief.probability == pytest.approx(known.probability, abs=1e-9)


def test_repeat_without_a_new_look_adds_nothing(small_model: FaultModel) -> None:
    """Tests that the same answer twice is, to the last bit, the answer once."""
    sets = every_set(small_model.n_causes)
    for check in range(len(small_model.checks)):
        answer = Answer(check, 0, 0, 0)
        once = over_sets(small_model, sets, answer).probability
        assert np.array_equal(over_sets(small_model, sets, answer, answer).probability, once)
    symptom = SymptomSaid(Symptom(4, 0.92, 0.06))
    once = over_sets(small_model, sets, symptom).probability
    assert np.array_equal(over_sets(small_model, sets, symptom, symptom).probability, once)


def test_not_sure_adds_nothing(small_model: FaultModel) -> None:
    """Tests that "not sure" leaves the belief exactly as it was."""
    sets = every_set(small_model.n_causes)
    before = over_sets(small_model, sets, Reported(1)).probability
    after = over_sets(small_model, sets, Reported(1), Answer(0, -1, 0, 0)).probability
    assert np.array_equal(before, after)
