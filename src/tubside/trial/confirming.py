"""The check that best tells one cause from a sound machine, and what it then said."""

from __future__ import annotations

import numpy as np

from tubside.diagnosis.belief import Belief
from tubside.diagnosis.evidence import Evidence, Measured
from tubside.diagnosis.hypotheses import FAULT, Rows, Sets
from tubside.diagnosis.reading_bins import binned
from tubside.diagnosis.reading_density import reading_log
from tubside.diagnosis.situation import may_check
from tubside.pack.fault_model import TECHNICIAN, FaultModel, Floats
from tubside.trial.job import Job

LEAST_APART = 0.3
"""A check that tells less apart (total variation) is no confirming check."""


def confirming_check(job: Job, cause: int) -> int | None:
    """The open check that tells the cause best from a sound machine; None if there is none."""
    model, best, chosen = job.shop.model, LEAST_APART, None
    for number, check in enumerate(model.checks):
        if not may_check(job.situation, number, check):
            continue
        apart = _apart(model, number, cause)
        if apart > best:
            best, chosen = apart, number
    return chosen


def confirmed(job: Job, cause: int) -> bool | None:
    """Whether what the technician looked at last speaks for the cause; None if nothing did.

    An answer or a reading speaks for it where it is likelier with the cause alone than on
    a sound machine.
    """
    model, told = job.shop.model, None
    for answer in job.evidence.answers:
        rows = _rows(model, answer.check, cause)
        if rows is not None and answer.observer == TECHNICIAN and answer.outcome >= 0:
            told = bool(rows[1][answer.outcome] > rows[0][answer.outcome])
    for measured in job.evidence.readings:
        if measured.observer == TECHNICIAN and _touches(model, measured.check, cause):
            told = _reads_like(model, measured, cause)
    return told


def _apart(model: FaultModel, number: int, cause: int) -> float:
    """Total variation between what a check says of the cause alone and of a sound machine."""
    rows = _rows(model, number, cause)
    return 0.0 if rows is None else float(np.abs(rows[0] - rows[1]).sum() / 2.0)


def _rows(model: FaultModel, number: int, cause: int) -> Floats | None:
    """P(outcome or bin | sound), P(... | cause alone): (2, k); None where it is not altered."""
    check = model.checks[number]
    if check.reading is not None:
        if not _touches(model, number, cause):
            return None
        belief = Belief(_two(model, cause, 0), np.array([0.5, 0.5]), 0.0, 0.0)
        return binned(model, Evidence(), belief, check, TECHNICIAN).said
    if check.finding < 0:
        return None
    finding = model.findings[check.finding]
    at = np.flatnonzero(finding.touched == cause)
    return np.array([finding.healthy, finding.rows[at[0]]]) if len(at) else None


def _touches(model: FaultModel, number: int, cause: int) -> bool:
    reading = model.checks[number].reading
    if reading is None or model.predicting is None:
        return False
    return bool((model.predicting.touching(reading.quantity) == cause).any())


def _reads_like(model: FaultModel, measured: Measured, cause: int) -> bool:
    rows = _two(model, cause, measured.epoch)
    sound, faulty = reading_log(model, Evidence(readings=(measured,)), rows)
    return bool(faulty > sound)


def _two(model: FaultModel, cause: int, epochs: int) -> Rows:
    """A sound machine, and one with the cause alone, through so many remedies."""
    members = np.zeros((2, model.n_causes), dtype=bool)
    members[1, cause] = True
    sets = Sets(members, np.array([0, FAULT]))
    return Rows(sets, (members,) * (epochs + 1), np.zeros(2), np.arange(2))
