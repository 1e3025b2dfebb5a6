"""Rows of old jobs that were brought in."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import Connection, delete, insert, select

from tubside.store.tables import BROUGHT_JOBS


def brought_ids(connection: Connection) -> set[str]:
    """The ids of all that were brought in."""
    return set(connection.execute(select(BROUGHT_JOBS.c.id)).scalars())


def brought_rows(connection: Connection) -> dict[str, str]:
    """Id -> content of each, by id."""
    query = select(BROUGHT_JOBS.c.id, BROUGHT_JOBS.c.content).order_by(BROUGHT_JOBS.c.id)
    return {str(row[0]): str(row[1]) for row in connection.execute(query)}


def keep_brought(connection: Connection, rows: Mapping[str, str], now: datetime) -> None:
    """Keep new ones; none of them may be there."""
    if rows:
        values = [{"id": name, "content": text, "kept_at": now} for name, text in rows.items()]
        connection.execute(insert(BROUGHT_JOBS), values)


def drop_brought(connection: Connection) -> int:
    """Take all of them out again; how many went."""
    return connection.execute(delete(BROUGHT_JOBS)).rowcount
