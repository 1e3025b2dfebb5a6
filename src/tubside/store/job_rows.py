"""The list of jobs: one row a job, computed from its facts."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, func, select, tuple_

from tubside.store.tables import FACTS, JOBS, PEOPLE
from tubside.store.upserting import written_anew

FAR_BACK = 3000
"""Closed jobs, the latest, that are looked through at all: a bound for shops of any age."""


@dataclass(frozen=True, slots=True)
class JobRow:
    """What the list shows of a job; ``trouble`` is JSON, ``fee`` in cents."""

    id: str
    opened_at: datetime
    last_at: datetime
    stage: str
    closed: bool
    family: str | None
    model: str | None
    trouble: str
    danger: bool
    person: str | None
    leading: str | None
    chance: float | None
    fee: int | None


def exists(connection: Connection, job: str) -> bool:
    """Whether there is such a job."""
    return connection.execute(select(JOBS.c.id).where(JOBS.c.id == job)).first() is not None


def put(connection: Connection, row: JobRow) -> None:
    """Write the row of a job anew, or for the first time."""
    put_all(connection, [row])


def put_all(connection: Connection, rows: Sequence[JobRow]) -> None:
    """Write the rows of several jobs anew, or for the first time."""
    if rows:
        values = [{name: getattr(row, name) for name in JobRow.__slots__} for row in rows]
        connection.execute(written_anew(connection, JOBS), values)


def listed(
    connection: Connection, *, closed: bool, limit: int, after: str | None
) -> list[tuple[JobRow, str | None]]:
    """Jobs with the data of their person, the one with the latest fact first."""
    query = select(JOBS, PEOPLE.c.data).outerjoin(PEOPLE, PEOPLE.c.id == JOBS.c.person)
    query = query.where(JOBS.c.closed == closed)
    if after is not None:
        last = select(JOBS.c.last_at).where(JOBS.c.id == after).scalar_subquery()
        query = query.where(tuple_(JOBS.c.last_at, JOBS.c.id) < tuple_(last, after))
    query = query.order_by(JOBS.c.last_at.desc(), JOBS.c.id.desc()).limit(limit)
    return [(JobRow(*row[:-1]), row[-1]) for row in connection.execute(query)]


def all_ids(connection: Connection) -> list[str]:
    """Every job there is, sorted."""
    return list(connection.execute(select(JOBS.c.id).order_by(JOBS.c.id)).scalars())


def count_facts(connection: Connection, job: str) -> int:
    """How many facts a job has, retracted ones included."""
    query = select(func.count()).select_from(FACTS).where(FACTS.c.job == job)
    return int(connection.execute(query).scalar() or 0)


def closed_with(connection: Connection, kind: str, models: Collection[str]) -> list[str]:
    """Closed jobs with a fact of a kind, or on one of these models; sorted."""
    with_fact = select(FACTS.c.job).where(FACTS.c.kind == kind)
    either = JOBS.c.id.in_(with_fact) | JOBS.c.model.in_(list(models))
    query = select(JOBS.c.id).where(JOBS.c.closed, either).order_by(JOBS.c.id)
    return list(connection.execute(query).scalars())


def listed_of(connection: Connection, ids: Collection[str]) -> list[tuple[JobRow, str | None]]:
    """These jobs with the data of their person, the one with the latest fact first."""
    query = select(JOBS, PEOPLE.c.data).outerjoin(PEOPLE, PEOPLE.c.id == JOBS.c.person)
    query = query.where(JOBS.c.id.in_(list(ids))).order_by(JOBS.c.last_at.desc(), JOBS.c.id.desc())
    return [(JobRow(*row[:-1]), row[-1]) for row in connection.execute(query)]


def closed_without(
    connection: Connection, kind: str, told: Collection[str], limit: int
) -> dict[str, list[tuple[str, str]]]:
    """Latest closed jobs without a fact of a kind -> kind and body of their facts of others.

    Jobs that hold none of those are left out, and so are those closed very long ago.
    """
    shut = select(JOBS.c.id, JOBS.c.last_at).where(JOBS.c.closed)
    late = shut.order_by(JOBS.c.last_at.desc(), JOBS.c.id.desc()).limit(FAR_BACK).subquery()
    of_it = FACTS.c.job == late.c.id
    query = select(late.c.id).where(
        select(FACTS.c.id).where(of_it, FACTS.c.kind.in_(list(told))).exists(),
        ~select(FACTS.c.id).where(of_it, FACTS.c.kind == kind).exists(),
    )
    query = query.order_by(late.c.last_at.desc(), late.c.id.desc()).limit(limit)
    found: dict[str, list[tuple[str, str]]] = {
        str(name): [] for name in connection.execute(query).scalars()
    }
    facts = select(FACTS.c.job, FACTS.c.kind, FACTS.c.body).where(
        FACTS.c.job.in_(list(found)), FACTS.c.kind.in_(list(told))
    )
    for job, of, body in connection.execute(facts):
        found[job].append((of, body))
    return found


def closed_of(connection: Connection, people: Collection[str], limit: int) -> list[str]:
    """Closed jobs of a person under any of these references, the latest first."""
    query = select(JOBS.c.id).where(JOBS.c.closed, JOBS.c.person.in_(list(people)))
    query = query.order_by(JOBS.c.last_at.desc(), JOBS.c.id).limit(limit)
    return list(connection.execute(query).scalars())
