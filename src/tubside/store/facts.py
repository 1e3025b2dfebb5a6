"""Append facts and read them; nothing is ever changed."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import Connection, bindparam, func, insert, select, tuple_
from sqlalchemy.exc import IntegrityError

from tubside.errors import FactClashError
from tubside.store.tables import FACTS


@dataclass(frozen=True, slots=True)
class FactRow:
    """A fact as it is kept; ``seen`` and ``body`` are canonical JSON."""

    id: str
    job: str
    device: str
    sequence: int
    at: datetime
    seen: str
    kind: str
    body: str
    retracts: str | None
    computed_from: str | None
    received_at: datetime


# put together once: they are asked for every message and every page of a job
_OF_JOB = select(FACTS).where(FACTS.c.job == bindparam("job"))
_OF_JOBS_OR_NAMED = select(FACTS).where(
    FACTS.c.job.in_(bindparam("jobs", expanding=True))
    | FACTS.c.id.in_(bindparam("ids", expanding=True))
)
_INSERT = insert(FACTS)


def append(connection: Connection, rows: Sequence[FactRow]) -> list[FactRow]:
    """Append facts; those really added. The same fact again is left out.

    Raises
    ------
    FactClashError
        When an id or a (device, sequence) is taken by a fact that says something else.
    """
    fresh = _not_kept(connection, rows)
    _refuse_taken(connection, fresh)
    if fresh:
        connection.execute(insert(FACTS), [_values(row) for row in fresh])
    return fresh


def of_job(connection: Connection, job: str) -> list[FactRow]:
    """Every fact of a job, in no particular order."""
    return _rows(connection.execute(_OF_JOB, {"job": job}))


def of_jobs_or_named(
    connection: Connection, jobs: Collection[str], ids: Collection[str]
) -> list[FactRow]:
    """Every fact of these jobs, and those with these ids of whatever job, in one question."""
    asked = {"jobs": list(jobs), "ids": list(ids)}
    return _rows(connection.execute(_OF_JOBS_OR_NAMED, asked))


def insert_new(connection: Connection, rows: Sequence[FactRow]) -> None:
    """Append facts that nobody looked up before; the transaction is lost when one clashes.

    Raises
    ------
    FactClashError
        When an id or a (device, sequence) is taken; it does not say whose.
    """
    try:
        connection.execute(_INSERT, [_values(row) for row in rows])
    except IntegrityError as wrong:
        msg = "one of these facts has the id or the number of another fact; send each by itself"
        raise FactClashError(msg) from wrong


def fact(connection: Connection, fact_id: str) -> FactRow | None:
    """One fact, None if it is not there."""
    found = _rows(connection.execute(select(FACTS).where(FACTS.c.id == fact_id)))
    return found[0] if found else None


def by_ids(connection: Connection, ids: Sequence[str]) -> dict[str, FactRow]:
    """Those of these facts that are there, by id."""
    wanted = select(FACTS).where(FACTS.c.id.in_(list(dict.fromkeys(ids))))
    return {row.id: row for row in _rows(connection.execute(wanted))}


def next_sequence(connection: Connection, device: str) -> int:
    """The number that the next fact of a device gets; to be asked in a writing transaction."""
    latest = connection.execute(
        select(func.max(FACTS.c.sequence)).where(FACTS.c.device == device)
    ).scalar()
    return int(latest or 0) + 1


def jobs_of_device(connection: Connection, device: str, jobs: Iterable[str]) -> set[str]:
    """Those of the jobs that hold a fact of a device."""
    where = (FACTS.c.device == device, FACTS.c.job.in_(list(jobs)))
    return set(connection.execute(select(FACTS.c.job).where(*where)).scalars())


def jobs_naming(connection: Connection, kind: str, bodies: Iterable[str]) -> set[str]:
    """Jobs that hold a fact of a kind with one of these bodies."""
    where = (FACTS.c.kind == kind, FACTS.c.body.in_(list(bodies)))
    return set(connection.execute(select(FACTS.c.job).where(*where)).scalars())


def any_computed_from(connection: Connection, hashes: Iterable[str]) -> bool:
    """Whether some fact was written on a page that was computed from one of these."""
    where = FACTS.c.computed_from.in_(list(hashes))
    return connection.execute(select(FACTS.c.id).where(where).limit(1)).first() is not None


def _not_kept(connection: Connection, rows: Sequence[FactRow]) -> list[FactRow]:
    known = by_ids(connection, [row.id for row in rows])
    fresh: list[FactRow] = []
    for row in rows:
        there = known.setdefault(row.id, row)
        if there is row:
            fresh.append(row)
        elif replace(there, received_at=row.received_at) != row:
            msg = f"another fact has the id {row.id}; give this one an id of its own"
            raise FactClashError(msg)
    return fresh


def _refuse_taken(connection: Connection, fresh: Sequence[FactRow]) -> None:
    numbers = [(row.device, row.sequence) for row in fresh]
    columns = tuple_(FACTS.c.device, FACTS.c.sequence)
    taken = [
        tuple(row)
        for row in connection.execute(
            select(FACTS.c.device, FACTS.c.sequence).where(columns.in_(numbers))
        )
    ]
    taken += [number for number in set(numbers) if numbers.count(number) > 1]
    if taken:
        device, sequence = taken[0]
        msg = f"device {device} has sent another fact as its number {sequence}; count on from there"
        raise FactClashError(msg)


def _rows(found: Iterable[object]) -> list[FactRow]:
    return [FactRow(*row) for row in found]  # type: ignore[misc]  # columns stand in this order


def _values(row: FactRow) -> dict[str, object]:
    return {name: getattr(row, name) for name in FactRow.__slots__}
