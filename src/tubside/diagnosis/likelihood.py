"""P(facts | hypothesis), in logs, for many hypotheses at once."""

from __future__ import annotations

import numpy as np

from tubside.diagnosis.evidence import (
    EVERY_TIME,
    FAILS,
    ONCE,
    Evidence,
    FirstComplaint,
    Look,
    looks,
)
from tubside.diagnosis.hypotheses import Rows, Sets
from tubside.diagnosis.states import seen_table, showing
from tubside.pack.complaint import first_condition, off_chances
from tubside.pack.fault_model import Bools, FaultModel, Floats

RUNS_REMEMBERED = 4
MISREMEMBERED = 0.1
NAMED_FIRST = 0.7
"""P(the condition named first came first | several are named); no source."""
MENTIONED = (0.6, 0.04)
"""P(mentioned beside the complaint | on, off); common practice, no source."""
STRAY_FAILURE = 0.005
"""A re-run can fail for a reason of its own (common practice, no source)."""


def log_likelihood(model: FaultModel, evidence: Evidence, rows: Rows) -> Floats:
    """log P(all facts but age and variants | row): (N,); those are in the prior."""
    result = rows.log_path.copy()
    for look in looks(model, evidence):
        result += look_log(model, look, rows)
    if evidence.how_often is not None:
        result += np.log(how_often(model, rows.sets)[:, evidence.how_often])
    if evidence.complaint is not None or evidence.treatments:
        complaint = evidence.complaint or silent(model)
        by_condition = complaint_terms(model, complaint, rows.sets)
        by_condition = by_condition * reruns(model, evidence, rows)
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
    for condition, if_on, if_off in complaint.symptoms:
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


def reruns(model: FaultModel, evidence: Evidence, rows: Rows) -> Floats:
    """P(outcome of every re-run | row, first condition): (N, c)."""
    result = np.ones((len(rows.owner), len(model.complaint.leak)))
    for epoch, treatment in enumerate(evidence.treatments, start=1):
        if treatment.rerun is not None:
            fails = rerun_fails(model, rows.sets, rows.states[epoch])
            result *= fails if treatment.rerun == FAILS else 1.0 - fails
    return result


def rerun_fails(model: FaultModel, sets: Sets, left: Bools) -> Floats:
    """P(the step that failed fails again | what was wrong, what is left): (N, c).

    Whatever raised the first condition and is still there raises it again
    whenever it shows: P(raised by what is left) / P(raised at all).
    """
    raised = 1.0 - np.exp(left @ np.log1p(-model.complaint.q))
    at_all = 1.0 - off_chances(sets.members, model.complaint.q, model.complaint.leak)
    again = showing(model, left)[:, None] * np.minimum(raised / at_all, 1.0)
    fails = STRAY_FAILURE + (1.0 - STRAY_FAILURE) * again
    empty = sets.healthy >= 0
    fails[empty] = model.healthy_rerun_fails[sets.healthy[empty], None]
    return np.asarray(fails)


def how_often(model: FaultModel, sets: Sets) -> Floats:
    """P(every time, sometimes, once | S): (N, 3).

    Of the last few runs (4, common practice, no source), given that at least
    one went wrong: all, one, or something between; a tenth is misremembered.
    """
    shows = np.clip(showing(model, sets.members), 1e-6, 1.0)
    rang = 1.0 - (1.0 - shows) ** RUNS_REMEMBERED
    table = np.empty((len(sets), 3))
    table[:, EVERY_TIME] = shows**RUNS_REMEMBERED / rang
    table[:, ONCE] = RUNS_REMEMBERED * shows * (1.0 - shows) ** (RUNS_REMEMBERED - 1) / rang
    table[:, 1] = np.maximum(1.0 - table[:, EVERY_TIME] - table[:, ONCE], 0.0)
    table = (1.0 - MISREMEMBERED) * table + MISREMEMBERED / 3.0
    empty = sets.healthy >= 0
    table[empty] = model.healthy_how_often[sets.healthy[empty]]
    return np.asarray(table)


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
