"""A whole job played against a known truth: the advice chooses each step, the truth answers.

Nothing here knows a clock or a random seed. An answer that the truth does not list
is the pack's most likely one for the true cause, so the same truth always plays
the same way.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

import msgspec
import numpy as np

from tubside.diagnosis.belief import finished
from tubside.diagnosis.next_step import Step
from tubside.errors import UnknownNameError
from tubside.pack.schema import Observer
from tubside.service.advise import SETS, Advice, advise
from tubside.service.coding import NOTHING_LEARNED, outcomes_of
from tubside.service.expecting import likely_number
from tubside.service.job_file import FactLine, JobSource
from tubside.service.knowledge import Knowledge
from tubside.service.measuring import told_number
from tubside.strict_yaml import or_one_of

End = Literal[
    "mended", "made safe", "handed over", "not worth repairing", "back to seller", "stuck"
]
MOST_TURNS = 40
CLEARS = 0.5
"""A remedy that clears the true cause at least this often is taken to clear it."""


class Truth(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What is hidden from the advice: the true cause, and how things answer.

    ``answers`` gives the outcome of a check, ``reruns`` that of a remedy
    (``works``, ``still-fails``).
    """

    cause: str
    answers: dict[str, str] = {}
    reruns: dict[str, Literal["works", "still-fails"]] = {}


@dataclass(frozen=True, slots=True)
class Turn:
    """One step as it was advised, what came of it, and the advice after it.

    ``spent`` is all that the job has cost so far, this step included [dollars].
    """

    before: Advice
    step: Step
    outcome: str | None
    after: Advice
    spent: float


@dataclass(frozen=True, slots=True)
class Played:
    """The advice at the call, every turn after it, and how the job ended."""

    first: Advice
    turns: tuple[Turn, ...]
    end: End
    last: Advice
    truth: Truth

    @property
    def spent(self) -> float:
        """What the job has cost both sides [dollars]."""
        return self.turns[-1].spent if self.turns else 0.0

    @property
    def found(self) -> str:
        """Id of the likeliest cause at the end."""
        return self.last.causes[0].id


@dataclass(slots=True)
class _Table:
    """The job on the table while it is played."""

    source: JobSource
    known: Knowledge
    truth: Truth
    size: int
    mended: bool = False
    spent: float = 0.0
    lines: list[FactLine] = field(default_factory=list)

    def advice(self) -> Advice:
        return advise(self.source, self.known, self.size)


def play(source: JobSource, known: Knowledge, truth: Truth, size: int = SETS) -> Played:
    """Play a job from its call to its end.

    Raises
    ------
    UnknownNameError
        When the truth names a cause, check, outcome or remedy that the pack lacks.
    """
    _must_know(known, truth)
    table = _Table(source, known, truth, size, lines=list(source.job.facts))
    first = last = table.advice()
    turns: list[Turn] = []
    end = _end(last)
    while end is None and len(turns) < MOST_TURNS:
        step = last.steps[0]
        outcome, end = _do(table, last, step)
        table.spent += step.cost
        after = last if end is not None else table.advice()
        turns.append(Turn(last, step, outcome, after, table.spent))
        last = after
        end = end or _end(last)
    return Played(first, tuple(turns), end or "stuck", last, truth)


def _end(advice: Advice) -> End | None:
    if advice.dangers:
        return "made safe"
    if finished(advice.evidence):
        return "mended"
    return None if advice.steps else "stuck"


def _do(table: _Table, advice: Advice, step: Step) -> tuple[str | None, End | None]:
    """Do one step: what came of it, and the end of the job where it ends here."""
    names = table.known.model.names
    by: Observer = "technician" if advice.situation.on_site else "customer"
    match step.kind:
        case "check":
            name = names.checks[step.index]
            outcome = _answer(table, advice, step.index)
            _add(table, _told(table, name, outcome, by))
            return outcome, None
        case "remedy":
            name = names.remedies[step.index]
            outcome = _rerun(table, advice, step.index)
            _add(table, FactLine(remedy=name, outcome=outcome, by=by))
            return outcome, None
        case "visit":
            job = msgspec.structs.replace(table.source.job, where="site")
            table.source = JobSource(job, table.source.document)
            return None, None
        case "refer":
            return None, "handed over"
        case "return":
            return None, "back to seller"
        case _:
            return None, "not worth repairing"


def _add(table: _Table, line: FactLine) -> None:
    table.lines.append(line)
    job = msgspec.structs.replace(table.source.job, facts=list(table.lines))
    table.source = JobSource(job, table.source.document)


def _told(table: _Table, check: str, answer: str, by: Observer) -> FactLine:
    """A line of the job file: a reading has a value, any other check an outcome."""
    if table.known.pack.checks[check].reading is None or answer in NOTHING_LEARNED:
        return FactLine(check=check, outcome=answer, by=by)
    return FactLine(check=check, value=answer, by=by, sure=True)


def _answer(table: _Table, advice: Advice, index: int) -> str:
    """What a check says: as the truth lists it, else what is likeliest."""
    model = table.known.model
    name, check = model.names.checks[index], model.checks[index]
    told = table.truth.answers.get(name)
    if told is not None and not table.mended:
        return told
    if check.reading is not None:
        cause = "" if table.mended else table.truth.cause
        observer = advice.situation.observer
        return likely_number(table.known, advice.evidence, name, cause, observer)
    if check.finding < 0:
        axis = model.prior.axes[check.axis]
        settled = [v for a, v in advice.evidence.settled if a == check.axis]
        weight = axis.shares * np.prod([np.ones_like(axis.shares), *settled], axis=0)
        at = np.flatnonzero(axis.members == model.names.causes.index(table.truth.cause))
        weight = weight * axis.applies[at[0]] if len(at) else weight
    else:
        finding = model.findings[check.finding]
        at = np.flatnonzero(finding.touched == model.names.causes.index(table.truth.cause))
        altered = len(at) > 0 and not table.mended
        weight = finding.rows[at[0]] if altered else finding.healthy
    return outcomes_of(table.known, name)[int(weight.argmax())]


def _rerun(table: _Table, advice: Advice, index: int) -> str:
    """What the re-run says after a remedy; the cause is gone when it works."""
    model = table.known.model
    clears = model.remedies[index].clears[advice.situation.observer]
    chance = clears[model.names.causes.index(table.truth.cause)]
    likely = "works" if chance >= CLEARS else "still-fails"
    outcome = table.truth.reruns.get(model.names.remedies[index], likely)
    table.mended = table.mended or outcome == "works"
    return outcome


def _must_know(known: Knowledge, truth: Truth) -> None:
    pack = known.pack
    for kind, name, there in _named(known, truth):
        if name not in there:
            what = f"the truth names {kind} '{name}', which the pack {pack.family} does not have"
            msg = f"{what}; {or_one_of(name, there)}"
            raise UnknownNameError(msg)


def _named(known: Knowledge, truth: Truth) -> Iterator[tuple[str, str, list[str]]]:
    """(kind, name, the names there are) of all that a truth names."""
    pack = known.pack
    yield "a cause", truth.cause, list(pack.causes)
    for check in truth.answers:
        yield "a check", check, list(pack.checks)
    for check, outcome in truth.answers.items():
        if pack.checks[check].reading is None or outcome in NOTHING_LEARNED:
            yield f"an outcome of {check}", outcome, [*outcomes_of(known, check), *NOTHING_LEARNED]
        else:
            told_number(known, check, outcome, sure=True)
    for remedy in truth.reruns:
        yield "a remedy", remedy, list(pack.remedies)
