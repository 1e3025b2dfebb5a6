"""The facts of closed jobs, and of open ones, a job at a time."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from itertools import groupby

from sqlalchemy import ColumnElement, Connection, func, select

from tubside.store.facts import FactRow
from tubside.store.tables import FACTS, JOBS

BATCH = 2000


def closed_facts(
    connection: Connection, kinds: Collection[str]
) -> Iterator[tuple[str, list[FactRow]]]:
    """Each closed job with its facts of some kinds, by id of the job."""
    yield from _facts(connection, kinds, JOBS.c.closed)


def open_facts(
    connection: Connection, kinds: Collection[str]
) -> Iterator[tuple[str, list[FactRow]]]:
    """Each job that is not closed with its facts of some kinds, by id of the job."""
    yield from _facts(connection, kinds, ~JOBS.c.closed)


def _facts(
    connection: Connection, kinds: Collection[str], which: ColumnElement[bool]
) -> Iterator[tuple[str, list[FactRow]]]:
    query = select(FACTS).join(JOBS, JOBS.c.id == FACTS.c.job)
    query = query.where(which, FACTS.c.kind.in_(sorted(kinds))).order_by(FACTS.c.job)
    found = connection.execution_options(yield_per=BATCH).execute(query)
    rows = (FactRow(*row) for row in found)
    for job, of in groupby(rows, key=lambda row: row.job):
        yield job, list(of)


def count_closed(connection: Connection, kinds: Collection[str]) -> list[tuple[str, int]]:
    """Each closed job with its number of facts of some kinds, by id of the job."""
    return _counts(connection, kinds, JOBS.c.closed)


def count_open(connection: Connection, kinds: Collection[str]) -> list[tuple[str, int]]:
    """Each job that is not closed with its number of facts of some kinds, by id of the job."""
    return _counts(connection, kinds, ~JOBS.c.closed)


def _counts(
    connection: Connection, kinds: Collection[str], which: ColumnElement[bool]
) -> list[tuple[str, int]]:
    query = select(FACTS.c.job, func.count()).join(JOBS, JOBS.c.id == FACTS.c.job)
    query = query.where(which, FACTS.c.kind.in_(sorted(kinds)))
    found = connection.execute(query.group_by(FACTS.c.job).order_by(FACTS.c.job))
    return [(str(job), int(count)) for job, count in found]
