"""The facts of a job as the arithmetic needs them: likelihood vectors over latent states.

Every report of one finding is combined here before the finding is summed out, so
that a hundred equal answers never say more than knowing the state does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tubside.pack.fault_model import CUSTOMER, FaultModel, Floats

EVERY_TIME, SOMETIMES, ONCE = range(3)
FAILS, WORKS = 0, 1
IS, OVER, UNDER, NONE = range(4)
"""What a reading says: the number itself, more than it, less than it, or that none came."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One report of a finding or axis: who said which outcome, by which check.

    ``outcome`` -1 is "not sure" or "could not look": kept, but it says nothing.
    ``epoch`` is the number of remedies done before; ``again`` marks a new look.
    """

    check: int
    outcome: int
    observer: int
    epoch: int
    again: bool = False


@dataclass(frozen=True, slots=True)
class Measured:
    """One number read: by which check, ``value`` in SI, and what it says (see IS).

    ``epoch`` is the number of remedies done before; ``again`` marks that it was measured
    anew, ``instrument`` with which one: a new one makes errors of its own. ``error`` [SI] is
    the standard deviation told with the number, 0 where the check's own counts.
    """

    check: int
    value: float
    says: int
    observer: int
    epoch: int = 0
    again: bool = False
    instrument: str = ""
    error: float = 0.0


@dataclass(frozen=True, slots=True)
class Treatment:
    """A remedy done, what it clears with which chance, and how the re-run went."""

    clears: Floats  # (n,)
    rerun: int | None  # FAILS, WORKS, or None when it was not run again


@dataclass(frozen=True, slots=True)
class Symptom:
    """One report of a condition beside the first complaint: its chance if on, if off."""

    condition: int
    if_on: float
    if_off: float
    observer: int = CUSTOMER
    again: bool = False


@dataclass(frozen=True, slots=True)
class FirstComplaint:
    """Soft evidence on the first condition, in the model's order of conditions.

    ``words`` (c,) is P(everything said | first condition) but for the conditions
    ``reported`` by name, in the order in which they were named; ``panel`` (c,) the
    chance of what was seen on the panel if the machine stopped for c, and
    ``panel_none`` if it did not stop for anything.
    """

    words: Floats
    reported: tuple[int, ...] = ()
    panel: Floats | None = None
    panel_none: float = 1.0
    symptoms: tuple[Symptom, ...] = ()


@dataclass(frozen=True, slots=True)
class Evidence:
    """All that is known of one job, ready to be multiplied."""

    complaint: FirstComplaint | None = None
    how_often: int | None = None
    age_years: float | None = None
    answers: tuple[Answer, ...] = ()
    settled: tuple[tuple[int, Floats], ...] = ()  # (axis, likelihood of each value)
    treatments: tuple[Treatment, ...] = ()
    readings: tuple[Measured, ...] = ()


@dataclass(frozen=True, slots=True)
class Look:
    """All answers on one finding between remedies that touch it, as one vector."""

    finding: int
    epoch: int
    segment: int  # remedies before it that touch the finding
    likelihood: Floats  # (k,)


def confusion(size: int, error: float, *, graded: bool) -> Floats:
    """P(said | state): right with 1 - error, graded errors mostly to a neighbour.

    Rows sum to one. For kinds the error is shared evenly; for graded outcomes a
    slip of d steps weighs 4 to the power of -d (common practice, no source).
    """
    step = np.abs(np.subtract.outer(np.arange(size), np.arange(size)))
    slip = np.where(step == 0, 0.0, 4.0**-step if graded else 1.0)
    slip *= error / np.maximum(slip.sum(axis=1, keepdims=True), 1e-300)
    slip[np.diag_indices(size)] = 1.0 - slip.sum(axis=1)
    return np.asarray(slip)


def answer_vectors(
    model: FaultModel, answers: Sequence[Answer], size: int, *, graded: bool
) -> Floats:
    """P(all these answers | state) for one finding or axis: (size,).

    A repeat by the same observer without a new look adds nothing. A new look, or
    another check of the same finding, repeats the last answer with the chance
    ``model.repeat_errs_same``.
    """
    result = np.ones(size)
    last: dict[int, Answer] = {}
    given: dict[tuple[int, int], int] = {}
    for answer in answers:
        if answer.outcome < 0:
            continue
        before, place = last.get(answer.observer), (answer.observer, answer.check)
        fresh = fresh_answer(model, answer, size, graded=graded)
        if before is None:
            result = result * fresh
        elif answer.again or answer.outcome != given.get(place):
            result = result * repeated(model, fresh, same=answer.outcome == before.outcome)
        last[answer.observer] = answer
        given[place] = answer.outcome
    return result


def repeated(model: FaultModel, fresh: Floats, *, same: bool) -> Floats:
    """P(an answer of a new look | state, the last answer): ``fresh`` mixed with an echo."""
    echo = model.repeat_errs_same
    return np.asarray((echo if same else 0.0) + (1.0 - echo) * fresh)


def symptom_reports(model: FaultModel, complaint: FirstComplaint) -> list[tuple[int, float, float]]:
    """(condition, P(all reports of it | on), P(... | off)), each condition once.

    Repeats count as those of a finding do; a condition named at the call was
    already said by the customer.
    """
    chances: dict[int, Floats] = {}
    last = {(named, CUSTOMER): True for named in complaint.reported}
    for report in complaint.symptoms:
        if report.if_on == report.if_off:
            continue
        said, place = report.if_on > report.if_off, (report.condition, report.observer)
        fresh = np.array([report.if_on, report.if_off])
        before = last.get(place)
        if before is not None and said == before and not report.again:
            continue
        if before is not None:
            fresh = repeated(model, fresh, same=said == before)
        chances[report.condition] = chances.get(report.condition, np.ones(2)) * fresh
        last[place] = said
    return [(condition, float(on), float(off)) for condition, (on, off) in chances.items()]


def fresh_answer(model: FaultModel, answer: Answer, size: int, *, graded: bool) -> Floats:
    """P(this answer | state) of a first look: (size,)."""
    error = model.checks[answer.check].error[answer.observer]
    return np.asarray(confusion(size, error, graded=graded)[:, answer.outcome])


def looks(model: FaultModel, evidence: Evidence) -> list[Look]:
    """Answers grouped by finding, and by the remedies that touch what it shows."""
    grouped: dict[tuple[int, int], list[Answer]] = {}
    for answer in evidence.answers:
        finding = model.checks[answer.check].finding
        if finding >= 0:
            segment = touched_before(model, evidence, finding, answer.epoch)
            grouped.setdefault((finding, segment), []).append(answer)
    result = []
    for (finding, segment), answers in grouped.items():
        shape = model.findings[finding]
        vector = answer_vectors(model, answers, len(shape.healthy), graded=shape.graded)
        result.append(Look(finding, answers[0].epoch, segment, vector))
    return result


def axis_vectors(model: FaultModel, evidence: Evidence) -> list[Floats]:
    """Likelihood of the values of each variant axis from answers and settled facts."""
    vectors = []
    for number, axis in enumerate(model.prior.axes):
        size = len(axis.shares)
        answers = [a for a in evidence.answers if model.checks[a.check].axis == number]
        vector = answer_vectors(model, answers, size, graded=False)
        for settled, likelihood in evidence.settled:
            if settled == number:
                vector = vector * likelihood
        vectors.append(vector)
    return vectors


def touched_before(model: FaultModel, evidence: Evidence, finding: int, epoch: int) -> int:
    """How many remedies before ``epoch`` touch causes that alter the finding."""
    touched = model.findings[finding].touched
    return sum(bool(t.clears[touched].any()) for t in evidence.treatments[:epoch])
