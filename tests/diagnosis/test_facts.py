"""Tests of what the facts of a job amount to together."""

from __future__ import annotations

import numpy as np
import pytest

from made_models import Shape, made_model
from tubside.diagnosis.evidence import FAILS, Answer, Symptom, Treatment
from tubside.diagnosis.facts import (
    Age,
    Coded,
    Fact,
    HowOften,
    PanelSeen,
    Reported,
    Settled,
    SymptomSaid,
    Words,
    evidence_of,
)

MODEL = made_model(Shape(causes=5, conditions=4, findings=6, seed=2))


def gathered(*coded: Coded) -> list[Fact]:
    """Return coded facts under one label."""
    return [Fact("told", one) for one in coded]


def test_answers_are_dated_by_the_remedies_before_them() -> None:
    """Tests that the order of facts says which answers speak of the time after a remedy."""
    remedy = Treatment(np.zeros(5), FAILS)
    answer = Answer(0, 1, 0, 9)
    evidence = evidence_of(MODEL, gathered(answer, remedy, answer, remedy, remedy, answer))
    assert [a.epoch for a in evidence.answers] == [0, 1, 3]
    assert evidence.treatments == (remedy,) * 3


def test_words_and_panel_multiply() -> None:
    """Tests that everything said of the first condition is one likelihood over it."""
    one, two = np.array([0.1, 0.2, 0.3, 0.4]), np.array([1.0, 0.5, 0.5, 0.1])
    evidence = evidence_of(
        MODEL, gathered(Words(one), Words(two), PanelSeen(one, 0.3), PanelSeen(two, 0.5))
    )
    complaint = evidence.complaint
    assert complaint is not None
    assert complaint.panel is not None
    assert complaint.words == pytest.approx(one * two)
    assert complaint.panel == pytest.approx(one * two)
    assert complaint.panel_none == pytest.approx(0.15)


def test_what_was_named_keeps_its_order_and_counts_once() -> None:
    """Tests that naming a condition twice is naming it once, where it was named first."""
    evidence = evidence_of(MODEL, gathered(Reported(2), Reported(0), Reported(2)))
    assert evidence.complaint is not None
    assert evidence.complaint.reported == (2, 0)


def test_the_rest_is_kept_as_told() -> None:
    """Tests symptoms, how often, age and settled variants; of the single ones the last."""
    symptom = Symptom(1, 0.9, 0.1)
    evidence = evidence_of(
        MODEL,
        gathered(
            SymptomSaid(symptom), HowOften(0), HowOften(2), Age(3.0), Age(4.0),
            Settled(0, np.ones(3)),
        ),
    )  # fmt: skip
    assert evidence.complaint is not None
    assert evidence.complaint.symptoms == (symptom,)
    assert (evidence.how_often, evidence.age_years) == (2, 4.0)
    assert [axis for axis, _ in evidence.settled] == [0]


def test_nothing_told_is_no_evidence() -> None:
    """Tests that no facts leave no complaint, so that no call is divided."""
    evidence = evidence_of(MODEL, [])
    assert evidence.complaint is None
    assert evidence.answers == ()
