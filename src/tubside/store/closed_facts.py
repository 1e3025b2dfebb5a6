"""The facts of closed jobs, a job at a time."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from itertools import groupby

from sqlalchemy import Connection, select

from tubside.store.facts import FactRow
from tubside.store.tables import FACTS, JOBS

BATCH = 2000


def closed_facts(
    connection: Connection, kinds: Collection[str]
) -> Iterator[tuple[str, list[FactRow]]]:
    """Each closed job with its facts of some kinds, by id of the job."""
    query = select(FACTS).join(JOBS, JOBS.c.id == FACTS.c.job)
    query = query.where(JOBS.c.closed, FACTS.c.kind.in_(sorted(kinds))).order_by(FACTS.c.job)
    found = connection.execution_options(yield_per=BATCH).execute(query)
    rows = (FactRow(*row) for row in found)
    for job, of in groupby(rows, key=lambda row: row.job):
        yield job, list(of)
