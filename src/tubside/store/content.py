"""What a store holds, told independently of the database it is in."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from hashlib import sha256

import msgspec
from sqlalchemy import Connection, LargeBinary, MetaData, Table, func, insert, select

from tubside.store.tables import METADATA

BATCH = 200
BIG_BATCH = 4
"""Rows taken at a time where they hold photos or recordings."""


@dataclass(frozen=True, slots=True)
class Content:
    """Rows of each table, and a SHA-256 of all that stands in them."""

    rows: dict[str, int]
    digest: str


def content_of(connection: Connection) -> Content:
    """Count and digest every row; equal for equal content, on whatever database."""
    return _summed(_lines(connection))


def content_without(connection: Connection, *tables: str) -> tuple[Content, Content]:
    """The content of all tables, and that of all but some; every row is read once."""
    lines = _lines(connection)
    return _summed(lines), _summed({name: lines[name] for name in lines if name not in tables})


def content_by_table(connection: Connection) -> dict[str, Content]:
    """The content of each table by itself."""
    lines = _lines(connection)
    return {name: _summed({name: found}) for name, found in lines.items()}


def copy_rows(
    source: Connection, target: Connection, done: Callable[[str, int], None] | None = None
) -> None:
    """Copy every row into empty tables, those first that others refer to.

    ``done`` is told after each batch of which table how many rows went over.
    """
    for table in METADATA.sorted_tables:
        size = _batch(table)
        for batch in source.execution_options(yield_per=size).execute(select(table)).partitions():
            target.execute(insert(table), [dict(row._mapping) for row in batch])  # noqa: SLF001  # SQLAlchemy's own public name
            if done is not None:
                done(table.name, len(batch))


def count_rows(connection: Connection) -> dict[str, int]:
    """How many rows each table holds."""
    return {
        table.name: connection.execute(select(func.count()).select_from(table)).scalar() or 0
        for table in METADATA.sorted_tables
    }


def is_empty(connection: Connection) -> bool:
    """Whether there is no row in any table."""
    return not any(count_rows(connection).values())


def _batch(table: Table) -> int:
    big = any(isinstance(column.type, LargeBinary) for column in table.columns)
    return BIG_BATCH if big else BATCH


def _lines(connection: Connection) -> dict[str, list[bytes]]:
    found = MetaData()
    found.reflect(connection)  # as it is there: an older version has other tables
    tables = sorted(found.tables.values(), key=lambda table: table.name)
    return {table.name: sorted(_row_digests(connection, table)) for table in tables}


def _summed(tables: dict[str, list[bytes]]) -> Content:
    whole = sha256()
    for name, lines in tables.items():
        whole.update(f"{name}\0{len(lines)}\0".encode())
        for line in lines:
            whole.update(line)
    return Content({name: len(lines) for name, lines in tables.items()}, whole.hexdigest())


def _row_digests(connection: Connection, table: Table) -> Iterator[bytes]:
    for row in connection.execution_options(yield_per=_batch(table)).execute(select(table)):
        yield sha256(msgspec.msgpack.encode(dict(row._mapping), order="sorted")).digest()  # noqa: SLF001  # SQLAlchemy's own public name
