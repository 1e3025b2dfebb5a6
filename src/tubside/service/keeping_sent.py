"""Facts of phones into the store, many at once; what clashes is narrowed down by halves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from tubside.errors import FactClashError, FactError
from tubside.service.authors import Written
from tubside.service.records import Body, encoded
from tubside.service.sent import Result, SentFact, refused
from tubside.service.writing import append, append_new, made_elsewhere
from tubside.store import facts as kept
from tubside.store.facts import FactRow
from tubside.store.opening import Store


@dataclass(frozen=True, slots=True)
class Told:
    """A fact that can be read: of which phone, its place in the message, when it came."""

    device: str
    place: int
    sent: SentFact
    body: Body
    now: datetime

    @property
    def where(self) -> str:
        """Where it stands, for a reason of refusal."""
        return f"fact {self.place + 1} of the message, of job {self.sent.job}"

    def row(self) -> FactRow:
        """The fact as it is kept; FactError when its authorship is not allowed."""
        sent = self.sent
        written = Written(
            sent.id, self.device, sent.sequence, sent.at, sent.seen, sent.computed_from
        )
        (made,) = made_elsewhere(sent.job, [(written, self.body)], self.now)
        return made


@dataclass(frozen=True, slots=True)
class Kept:
    """What became of each, in order, and all facts of the jobs that were looked at."""

    results: Sequence[Result]
    jobs: Mapping[str, Sequence[FactRow]]


def keep_together(opened: Connection, told: Sequence[Told]) -> Kept:
    """Keep facts of any phones and jobs in one go; what is there already is left out.

    Raises
    ------
    FactClashError
        When one of them clashes with another fact: then the transaction is lost, and
        :func:`keep_narrowed` finds which.
    """
    jobs: dict[str, list[FactRow]] = {one.sent.job: [] for one in told}
    rows = kept.of_jobs_or_named(opened, list(jobs), {one.sent.id for one in told})
    known = {row.id: row for row in rows}
    for row in rows:
        if row.job in jobs:
            jobs[row.job].append(row)
    fresh: dict[str, list[FactRow]] = {}
    results = [_taken(one, known, fresh) for one in told]
    append_new(opened, jobs, fresh)
    whole = {job: [*there, *fresh.get(job, ())] for job, there in jobs.items()}
    return Kept(results, whole)


def keep_narrowed(store: Store, told: Sequence[Told]) -> Kept:
    """Keep all of them but those that clash, which are refused.

    Each try is a transaction: first all, then, after a clash, job by job or by halves.
    """
    if not told:
        return Kept((), {})
    if len(told) == 1:
        return Kept([_keep_alone(store, told[0])], {})
    try:
        with store.writing() as opened:
            return keep_together(opened, told)
    except FactClashError:
        parts = _parts(told)
    found = [keep_narrowed(store, [told[k] for k in part]) for part in parts]
    results: list[Result | None] = [None] * len(told)
    for part, one in zip(parts, found, strict=True):
        for place, result in zip(part, one.results, strict=True):
            results[place] = result
    return Kept([one for one in results if one is not None], {})


def _taken(one: Told, known: dict[str, FactRow], fresh: dict[str, list[FactRow]]) -> Result:
    """What becomes of one, put to the fresh ones where nobody knows it."""
    sent = one.sent
    there = known.get(sent.id)
    if there is not None:
        if (there.job, there.body) == (sent.job, encoded(one.body)):
            return Result(sent.id, "there")  # also a form whose answer was lost
        msg = f"another fact has the id {sent.id}; give this one an id of its own"
        raise FactClashError(msg)
    try:
        row = one.row()
    except FactError as wrong:
        return refused(sent.id, str(wrong), one.where)
    known[row.id] = row
    fresh.setdefault(row.job, []).append(row)
    return Result(row.id, "kept")


def _keep_alone(store: Store, one: Told) -> Result:
    sent = one.sent
    try:
        with store.writing() as opened:
            there = kept.fact(opened, sent.id)
            if there is not None and (there.job, there.body) == (sent.job, encoded(one.body)):
                return Result(sent.id, "there")
            added = append(opened, sent.job, [one.row()])
    except FactError as wrong:
        return refused(sent.id, str(wrong), one.where)
    return Result(sent.id, "kept" if added else "there")


def _parts(told: Sequence[Told]) -> list[list[int]]:
    """Places of what is tried by itself: half of the jobs, or half of one job's facts."""
    jobs = list(dict.fromkeys(one.sent.job for one in told))
    if len(jobs) == 1:
        half = len(told) // 2
        return [list(range(half)), list(range(half, len(told)))]
    first = set(jobs[: len(jobs) // 2])
    return [
        [place for place, one in enumerate(told) if one.sent.job in first],
        [place for place, one in enumerate(told) if one.sent.job not in first],
    ]
