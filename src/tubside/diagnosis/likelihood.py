"""P(facts | hypothesis), in logs, for many hypotheses at once."""

from __future__ import annotations

import numpy as np

from tubside.diagnosis.evidence import Evidence, FirstComplaint, Look, looks, symptom_reports
from tubside.diagnosis.hypotheses import Rows, Sets
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
    for condition, if_on, if_off in symptom_reports(model, complaint):
        terms = terms * _symptom(model, condition, (if_on, if_off), off)
    return terms


def told(model: FaultModel, complaint: FirstComplaint, off: Floats) -> Floats:
    """P(the conditions named at the call | first condition, S): (N, c).

    Which of them came first is not certain: the one named first with the chance
    0.7, else one of the others. The rest are mentioned beside it: a condition that
    is on more often than one that is not.
    """
    named = complaint.reported
    if len(named) < 2:
        return np.ones_like(off) if not named else model.complaint.said[:, named[0]][None, :]
    result = np.zeros_like(off)
    for position, first in enumerate(named):
        chance = NAMED_FIRST if position == 0 else (1.0 - NAMED_FIRST) / (len(named) - 1)
        part = chance * model.complaint.said[:, first][None, :]
        for other in named[:position] + named[position + 1 :]:
            part = part * mentioned(model, other, off)
        result += part
    return result


def mentioned(model: FaultModel, condition: int, off: Floats) -> Floats:
    """P(a condition is mentioned beside the first | first condition, S): (N, c)."""
    if_on, if_off = MENTIONED
    confused = if_off + (if_on - if_off) * model.complaint.said[:, condition]
    return np.maximum(_symptom(model, condition, MENTIONED, off), confused)


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


def _symptom(
    model: FaultModel, condition: int, chances: tuple[float, float], off: Floats
) -> Floats:
    """P(what was said of a symptom | first condition, S): (N, c)."""
    if_on, if_off = chances
    stage, stopping = model.complaint.stage, model.complaint.stopping
    result = np.full_like(off, if_off)
    free = (1.0 - off[:, condition]) * if_on + off[:, condition] * if_off
    for first in range(condition):
        reached = not stopping[first] or stage[condition] <= stage[first]
        if reached:
            result[:, first] = free
    result[:, condition] = if_on
    return result
