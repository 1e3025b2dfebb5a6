"""Which version a database is at, and the steps to the newest.

Alembic is loaded where a step is taken, and not to see that none is: that is most of
the time a start takes.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Connection, inspect, text

from tubside.errors import StoreError
from tubside.store.tables import METADATA

if TYPE_CHECKING:
    from alembic.config import Config
    from alembic.runtime.migration import MigrationContext, RevisionStep
    from alembic.script import ScriptDirectory

MIGRATIONS = Path(__file__).parent / "migrations"
TABLE = "alembic_version"
_NAMED = re.compile(r'^(revision|down_revision) = "([^"]+)"$', re.MULTILINE)


def version_of(connection: Connection) -> str | None:
    """The version a database is at, None for an empty one.

    Raises
    ------
    StoreError
        When this program does not know that version.
    """
    if not inspect(connection).has_table(TABLE):
        return None
    version = connection.execute(text(f"SELECT version_num FROM {TABLE}")).scalar()  # noqa: S608  # a name of ours
    if version is None:
        return None
    if version not in _chain():
        msg = f"the database is at version {version}, of a newer program; update tubside first"
        raise StoreError(msg)
    return str(version)


def newest() -> str:
    """The version this program writes."""
    chain = _chain()
    (last,) = set(chain) - {before for before in chain.values() if before is not None}
    return last


@cache
def _chain() -> dict[str, str | None]:
    """Version -> the one before it, as the steps themselves name them."""
    found: dict[str, str | None] = {}
    for file in sorted((MIGRATIONS / "versions").glob("*.py")):
        named = dict(_NAMED.findall(file.read_text(encoding="utf-8")))
        if "revision" in named:
            found[named["revision"]] = named.get("down_revision")
    return found


@cache
def _scripts() -> ScriptDirectory:
    from alembic.script import ScriptDirectory  # noqa: PLC0415  # see the head of this file

    return ScriptDirectory.from_config(_config())


def _config() -> Config:
    from alembic.config import Config  # noqa: PLC0415  # see the head of this file

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    return config


def stamp(connection: Connection) -> None:
    """Mark a database, whose tables were just made, as the newest version."""
    from alembic.runtime.migration import MigrationContext  # noqa: PLC0415  # see above

    MigrationContext.configure(connection).stamp(_scripts(), "head")


def migrate(connection: Connection) -> None:
    """Run the steps that the database lacks, inside the transaction it is in."""
    from alembic.runtime.environment import EnvironmentContext  # noqa: PLC0415  # see above

    scripts = _scripts()

    def steps(version: tuple[str, ...], _context: MigrationContext) -> list[RevisionStep]:
        return scripts._upgrade_revs("head", version)  # type: ignore[arg-type]  # noqa: SLF001  # as Alembic's own upgrade command does

    with EnvironmentContext(_config(), scripts, fn=steps, destination_rev="head") as environment:
        environment.configure(
            connection=connection, target_metadata=METADATA, transactional_ddl=True
        )
        environment.run_migrations()
