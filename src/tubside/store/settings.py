"""Small things the shop has decided, by name."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from sqlalchemy import Connection, bindparam, delete, select

from tubside.store.tables import SETTINGS
from tubside.store.upserting import written_anew

_NAMED = select(SETTINGS.c.name, SETTINGS.c.value).where(
    SETTINGS.c.name.in_(bindparam("names", expanding=True))
)


def setting(connection: Connection, name: str) -> str | None:
    """What is kept under a name, None if nothing is."""
    found = connection.execute(select(SETTINGS.c.value).where(SETTINGS.c.name == name)).scalar()
    return None if found is None else str(found)


def keep_setting(connection: Connection, name: str, value: str) -> None:
    """Keep a value under a name, instead of what was there."""
    keep_settings(connection, {name: value})


def keep_settings(connection: Connection, values: Mapping[str, str]) -> None:
    """Keep several values, each under its name, instead of what was there."""
    if values:
        rows = [{"name": name, "value": value} for name, value in values.items()]
        connection.execute(written_anew(connection, SETTINGS), rows)


def settings_named(connection: Connection, names: Collection[str]) -> dict[str, str]:
    """Those of these names that something is kept under, and what."""
    found = connection.execute(_NAMED, {"names": list(names)})
    return {str(row[0]): str(row[1]) for row in found}


def drop_setting(connection: Connection, name: str) -> int:
    """Forget what is under a name; how many rows went."""
    return connection.execute(delete(SETTINGS).where(SETTINGS.c.name == name)).rowcount


def settings_under(connection: Connection, prefix: str) -> dict[str, str]:
    """Rest of the name -> value, for every name that begins so, by name."""
    query = select(SETTINGS.c.name, SETTINGS.c.value).order_by(SETTINGS.c.name)
    rows = connection.execute(query.where(SETTINGS.c.name.startswith(prefix, autoescape=True)))
    return {str(row[0]).removeprefix(prefix): str(row[1]) for row in rows}
