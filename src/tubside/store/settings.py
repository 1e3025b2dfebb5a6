"""Rows of settings: a text under a name."""

from __future__ import annotations

from sqlalchemy import Connection, delete, insert, select, update

from tubside.store.tables import SETTINGS


def setting(connection: Connection, name: str) -> str | None:
    """The text under a name, None if there is none."""
    row = connection.execute(select(SETTINGS.c.value).where(SETTINGS.c.name == name)).first()
    return None if row is None else str(row[0])


def put_setting(connection: Connection, name: str, value: str) -> None:
    """Keep a text under a name, in place of what was there."""
    if setting(connection, name) is None:
        connection.execute(insert(SETTINGS).values(name=name, value=value))
    else:
        connection.execute(update(SETTINGS).where(SETTINGS.c.name == name).values(value=value))


def drop_setting(connection: Connection, name: str) -> int:
    """Forget what is under a name; how many rows went."""
    return connection.execute(delete(SETTINGS).where(SETTINGS.c.name == name)).rowcount


def settings_under(connection: Connection, prefix: str) -> dict[str, str]:
    """Rest of the name -> text, for every name that begins so; by name."""
    query = select(SETTINGS.c.name, SETTINGS.c.value).order_by(SETTINGS.c.name)
    rows = connection.execute(query.where(SETTINGS.c.name.startswith(prefix, autoescape=True)))
    return {str(row[0]).removeprefix(prefix): str(row[1]) for row in rows}
