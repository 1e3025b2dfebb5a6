"""Every row of every table, as text for a spreadsheet; nothing that opens a door."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Column, Connection, LargeBinary, Table, select

from tubside.store.columns import Cents
from tubside.store.tables import METADATA

LEFT_OUT = frozenset({"sessions", "tries", "settings", "told"})
"""Tables without a record of the trade: who is logged in, keys, and what can be made again."""
SECRET = frozenset({"password", "token", "token_hash", "secret", "key"})
BATCH = 500


@dataclass(frozen=True, slots=True)
class Sheet:
    """One table: its name, the names of its columns, and its rows as text."""

    name: str
    columns: tuple[str, ...]
    rows: Iterator[list[str]]


def sheets(connection: Connection) -> Iterator[Sheet]:
    """Every table that is somebody's record, in the order in which they refer to each other."""
    for table in METADATA.sorted_tables:
        if table.name not in LEFT_OUT:
            yield _sheet(connection, table, None)


def sheets_of_jobs(connection: Connection, jobs: Collection[str]) -> Iterator[Sheet]:
    """What every table holds of some jobs."""
    for table in METADATA.sorted_tables:
        if table.name not in LEFT_OUT and "job" in table.c:
            yield _sheet(connection, table, jobs)


def counts_of_jobs(connection: Connection, names: Collection[str], jobs: Collection[str]) -> int:
    """How many rows some tables hold of some jobs; a table that is not there holds none."""
    tables = [METADATA.tables[name] for name in sorted(names) if name in METADATA.tables]
    return sum(
        len(connection.execute(select(table.c.job).where(table.c.job.in_(list(jobs)))).all())
        for table in tables
        if "job" in table.c
    )


def _sheet(connection: Connection, table: Table, jobs: Collection[str] | None) -> Sheet:
    columns = [column for column in table.c if _shown(column)]
    query = select(*columns).order_by(*table.primary_key.columns)
    query = query if jobs is None else query.where(table.c.job.in_(list(jobs)))
    found = connection.execution_options(yield_per=BATCH).execute(query)
    rows = ([_text(value) for value in row] for row in found)
    return Sheet(table.name, tuple(_heading(column) for column in columns), rows)


def _shown(column: Column[object]) -> bool:
    """Pictures and documents go beside the tables, as files; secrets nowhere."""
    return column.name not in SECRET and not isinstance(column.type, LargeBinary)


def _heading(column: Column[object]) -> str:
    return f"{column.name}_cents" if isinstance(column.type, Cents) else column.name


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.isoformat()
    return str(value)
