"""Small things the shop has decided, by name."""

from __future__ import annotations

from sqlalchemy import Connection, delete, insert, select

from tubside.store.tables import SETTINGS


def setting(connection: Connection, name: str) -> str | None:
    """What is kept under a name, None if nothing is."""
    found = connection.execute(select(SETTINGS.c.value).where(SETTINGS.c.name == name)).scalar()
    return None if found is None else str(found)


def keep_setting(connection: Connection, name: str, value: str) -> None:
    """Keep a value under a name, instead of what was there."""
    connection.execute(delete(SETTINGS).where(SETTINGS.c.name == name))
    connection.execute(insert(SETTINGS).values(name=name, value=value))


def drop_setting(connection: Connection, name: str) -> int:
    """Forget what is under a name; how many rows went."""
    return connection.execute(delete(SETTINGS).where(SETTINGS.c.name == name)).rowcount


def settings_under(connection: Connection, prefix: str) -> dict[str, str]:
    """Rest of the name -> value, for every name that begins so, by name."""
    query = select(SETTINGS.c.name, SETTINGS.c.value).order_by(SETTINGS.c.name)
    rows = connection.execute(query.where(SETTINGS.c.name.startswith(prefix, autoescape=True)))
    return {str(row[0]).removeprefix(prefix): str(row[1]) for row in rows}
