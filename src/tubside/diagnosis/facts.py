"""The facts of a job one by one, as coded values, and what they amount to together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tubside.diagnosis.evidence import (
    Answer,
    Evidence,
    FirstComplaint,
    Measured,
    Symptom,
    Treatment,
)
from tubside.pack.fault_model import FaultModel, Floats


@dataclass(frozen=True, slots=True)
class Words:
    """P(what was said | first condition): (c,)."""

    likelihood: Floats


@dataclass(frozen=True, slots=True)
class Reported:
    """A condition named at the call; the first one named is most often what came first."""

    condition: int


@dataclass(frozen=True, slots=True)
class PanelSeen:
    """P(what was seen | stopped for c), and if it stopped for nothing."""

    likelihood: Floats
    nothing: float


@dataclass(frozen=True, slots=True)
class SymptomSaid:
    """What was said of one condition beside the first complaint."""

    symptom: Symptom


@dataclass(frozen=True, slots=True)
class HowOften:
    """0 every time, 1 sometimes, 2 once."""

    word: int


@dataclass(frozen=True, slots=True)
class Age:
    """Age of the machine [years]."""

    years: float


@dataclass(frozen=True, slots=True)
class Settled:
    """Likelihood of the values of one variant axis."""

    axis: int
    likelihood: Floats


Said = Words | Reported | PanelSeen | SymptomSaid
Coded = Said | HowOften | Age | Settled | Answer | Measured | Treatment


@dataclass(frozen=True, slots=True)
class Fact:
    """One coded fact and the words by which it is told back."""

    label: str
    coded: Coded


def evidence_of(model: FaultModel, facts: Sequence[Fact]) -> Evidence:
    """All facts, in their order; answers and readings are dated by the remedies before them."""
    evidence = Evidence()
    for fact in facts:
        evidence = _with(model, evidence, fact.coded)
    return evidence


def _with(model: FaultModel, evidence: Evidence, coded: Coded) -> Evidence:
    match coded:
        case Words() | Reported() | PanelSeen() | SymptomSaid():
            return replace(evidence, complaint=_complaint(model, evidence.complaint, coded))
        case HowOften():
            return replace(evidence, how_often=coded.word)
        case Age():
            return replace(evidence, age_years=coded.years)
        case Settled():
            return replace(evidence, settled=(*evidence.settled, (coded.axis, coded.likelihood)))
        case Answer() | Measured():
            return _dated(evidence, coded)
        case Treatment():
            return replace(evidence, treatments=(*evidence.treatments, coded))


def _dated(evidence: Evidence, coded: Answer | Measured) -> Evidence:
    dated = replace(coded, epoch=len(evidence.treatments))
    if isinstance(dated, Answer):
        return replace(evidence, answers=(*evidence.answers, dated))
    return replace(evidence, readings=(*evidence.readings, dated))


def _complaint(model: FaultModel, before: FirstComplaint | None, coded: Said) -> FirstComplaint:
    complaint = before or FirstComplaint(np.ones(len(model.complaint.leak)))
    match coded:
        case Words():
            return replace(complaint, words=complaint.words * coded.likelihood)
        case Reported():
            named = dict.fromkeys((*complaint.reported, coded.condition))
            return replace(complaint, reported=tuple(named))
        case PanelSeen():
            panel = (
                coded.likelihood if complaint.panel is None else complaint.panel * coded.likelihood
            )
            return replace(complaint, panel=panel, panel_none=complaint.panel_none * coded.nothing)
        case SymptomSaid():
            return replace(complaint, symptoms=(*complaint.symptoms, coded.symptom))
