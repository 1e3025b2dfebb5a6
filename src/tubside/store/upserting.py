"""One statement that writes a row anew or for the first time, on each kind of database."""

from __future__ import annotations

from functools import cache

from sqlalchemy import Connection, Insert, Table


def written_anew(connection: Connection, table: Table) -> Insert:
    """How a whole row takes the place of the one with its primary key, or is added."""
    return _written_anew(connection.dialect.name, table)


def added_if_absent(connection: Connection, table: Table) -> Insert:
    """How a row is added where nothing of its own stands in the way; else nothing changes."""
    return _added_if_absent(connection.dialect.name, table)


@cache
def _written_anew(dialect: str, table: Table) -> Insert:
    keys = [column.name for column in table.primary_key]
    others = [column.name for column in table.columns if column.name not in keys]
    if dialect == "postgresql":
        from sqlalchemy.dialects import postgresql  # noqa: PLC0415  # only the own one is loaded

        server = postgresql.insert(table)
        new = {name: server.excluded[name] for name in others}
        return server.on_conflict_do_update(index_elements=keys, set_=new)
    from sqlalchemy.dialects import sqlite  # noqa: PLC0415  # as above

    file = sqlite.insert(table)
    new = {name: file.excluded[name] for name in others}
    return file.on_conflict_do_update(index_elements=keys, set_=new)


@cache
def _added_if_absent(dialect: str, table: Table) -> Insert:
    if dialect == "postgresql":
        from sqlalchemy.dialects import postgresql  # noqa: PLC0415  # as above

        return postgresql.insert(table).on_conflict_do_nothing()
    from sqlalchemy.dialects import sqlite  # noqa: PLC0415  # as above

    return sqlite.insert(table).on_conflict_do_nothing()
