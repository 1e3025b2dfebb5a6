"""P(facts | hypothesis), in logs, for many hypotheses at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.evidence import Evidence, FirstComplaint, Look, looks, symptom_reports
from tubside.diagnosis.hypotheses import Rows, Sets
from tubside.diagnosis.reading_density import reading_log
from tubside.diagnosis.reruns import how_often, reruns
from tubside.diagnosis.states import seen_table
from tubside.pack.complaint import first_condition, off_chances
from tubside.pack.fault_model import FaultModel, Floats

NAMED_FIRST = 0.7
"""P(the condition named first came first | several are named); no source."""
MENTIONED = (0.6, 0.04)
"""P(mentioned beside the complaint | on, off); common practice, no source."""


def log_likelihood(model: FaultModel, evidence: Evidence, rows: Rows) -> Floats:
    """log P(all facts but age and variants | row): (N,); those are in the prior."""
    result = rows.log_path.copy()
    for look in looks(model, evidence):
        result += look_log(model, look, rows)
    if evidence.readings:
        result += reading_log(model, evidence, rows)
    word = evidence.how_often
    if evidence.complaint is not None or evidence.treatments or word is not None:
        complaint = evidence.complaint or silent(model)
        by_condition = complaint_terms(model, complaint, rows.sets)
        by_condition = by_condition * reruns(model, evidence, rows)
        if word is not None:
            by_condition = by_condition * how_often(model, rows.sets, word)
        with np.errstate(divide="ignore"):
            result += np.log(by_condition.sum(axis=1))
    return result


def look_log(model: FaultModel, look: Look, rows: Rows) -> Floats:
    """log P(answers on one finding | row): (N,)."""
    table = seen_table(model, look.finding, rows.states[look.epoch])
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(table @ look.likelihood))


def silent(model: FaultModel) -> FirstComplaint:
    """A complaint of which nothing is known."""
    return FirstComplaint(words=np.ones(len(model.complaint.leak)))


def first_table(model: FaultModel, sets: Sets) -> tuple[Floats, Floats]:
    """P(first condition | S) and P(condition off | S): both (N, c)."""
    off = off_chances(sets.members, model.complaint.q, model.complaint.leak)
    first = first_condition(off)
    empty = sets.healthy >= 0
    first[empty] = model.complaint.healthy[sets.healthy[empty]]
    return first, off


def complaint_terms(model: FaultModel, complaint: FirstComplaint, sets: Sets) -> Floats:
    """P(first condition, everything said and seen of it | S): (N, c)."""
    first, off = first_table(model, sets)
    terms = first * complaint.words * told(model, complaint, off)
    if complaint.panel is not None:
        terms = terms * _panel(model, complaint, off)
    return terms


@dataclass(frozen=True, slots=True)
class Heard:
    """P(what was said of one condition | first condition, S) = a - b P(it is off | S)."""

    condition: int
    a: Floats  # (c,)
    b: Floats  # (c,)

    def given(self, off: Floats) -> Floats:
        """The chance for each set: (N, c)."""
        return np.asarray(self.a - self.b * off[:, self.condition][:, None])


def first_believed(
    model: FaultModel, evidence: Evidence, rows: Rows, probability: Floats
) -> Floats:
    """P(first condition | all facts), from the probability of each row: (c,)."""
    terms = complaint_terms(model, evidence.complaint or silent(model), rows.sets)
    terms = terms * reruns(model, evidence, rows)
    return np.asarray(probability @ (terms / np.maximum(terms.sum(axis=1, keepdims=True), 1e-300)))


def told(model: FaultModel, complaint: FirstComplaint, off: Floats) -> Floats:
    """P(the conditions named at the call or asked after | first condition, S): (N, c)."""
    result = np.zeros_like(off)
    for words, others in ways_of_telling(model, complaint):
        part = np.tile(words, (len(off), 1))
        for heard in others:
            part *= heard.given(off)
        result += part
    return result


def ways_of_telling(
    model: FaultModel, complaint: FirstComplaint
) -> list[tuple[Floats, list[Heard]]]:
    """Each condition named, as the one that came first, with what was said of the others.

    The one named first came first with the chance 0.7, else one of the others did.
    The rest are mentions: likelier of a condition that is on. A mention and answers
    on the same condition are one report of it.
    """
    named, said = complaint.reported, model.complaint.said
    asked = symptom_reports(model, complaint)
    if not named:
        return [(np.ones(len(complaint.words)), _heard(model, asked, ()))]
    ways = []
    for position, first in enumerate(named):
        alone = len(named) == 1
        chance = 1.0 if alone else NAMED_FIRST
        if position:
            chance = (1.0 - NAMED_FIRST) / (len(named) - 1)
        others = named[:position] + named[position + 1 :]
        ways.append((chance * said[:, first], _heard(model, asked, others)))
    return ways


def _heard(
    model: FaultModel, asked: Sequence[tuple[int, float, float]], mentions: Sequence[int]
) -> list[Heard]:
    """All that was said of each condition beside the first one."""
    size = len(model.complaint.leak)
    chances = {condition: (if_on, np.full(size, if_off)) for condition, if_on, if_off in asked}
    for condition in mentions:
        on, off = chances.get(condition, (1.0, np.ones(size)))
        if_on, if_off = mentioned(model, condition)
        chances[condition] = (on * if_on, off * if_off)
    return [heard_of(model, condition, on, off) for condition, (on, off) in chances.items()]


def mentioned(model: FaultModel, condition: int) -> tuple[float, Floats]:
    """P(a condition is mentioned beside the first | on), and (c,) if off, by first condition."""
    if_on, if_off = MENTIONED
    return if_on, if_off + (if_on - if_off) * model.complaint.said[:, condition]


def heard_of(model: FaultModel, condition: int, if_on: float, if_off: Floats) -> Heard:
    """What was said of one condition; a stage that was not reached shows nothing."""
    stage, stopping = model.complaint.stage, model.complaint.stopping
    order = np.arange(len(stage))
    free = (order < condition) & (~stopping | (stage[condition] <= stage))
    known = np.where(free | (order == condition), if_on, if_off)
    return Heard(condition, known, np.where(free, if_on - if_off, 0.0))


def _panel(model: FaultModel, complaint: FirstComplaint, off: Floats) -> Floats:
    """P(what was seen on the panel | first condition, S): (N, c).

    A first complaint that is a symptom leaves open which stop came after it.
    """
    panel, stopping = complaint.panel, model.complaint.stopping
    assert panel is not None
    result = np.empty_like(off)
    later = np.full(len(off), complaint.panel_none)
    for condition in range(off.shape[1] - 1, -1, -1):
        if stopping[condition]:
            result[:, condition] = panel[condition]
            later = off[:, condition] * later + (1.0 - off[:, condition]) * panel[condition]
        else:
            result[:, condition] = later
    return result
