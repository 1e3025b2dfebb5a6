"""Which version a database is at, and the steps to the newest."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from alembic.config import Config
from alembic.runtime.environment import EnvironmentContext
from alembic.runtime.migration import MigrationContext, RevisionStep
from alembic.script import ScriptDirectory
from sqlalchemy import Connection

from tubside.errors import StoreError
from tubside.store.tables import METADATA

MIGRATIONS = Path(__file__).parent / "migrations"


def version_of(connection: Connection) -> str | None:
    """The version a database is at, None for an empty one.

    Raises
    ------
    StoreError
        When this program does not know that version.
    """
    version = MigrationContext.configure(connection).get_current_revision()
    known = {script.revision for script in _scripts().walk_revisions()}
    if version is not None and version not in known:
        msg = f"the database is at version {version}, of a newer program; update tubside first"
        raise StoreError(msg)
    return version


def newest() -> str:
    """The version this program writes."""
    return str(_scripts().get_current_head())


@cache
def _scripts() -> ScriptDirectory:
    return ScriptDirectory.from_config(_config())


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    return config


def stamp(connection: Connection) -> None:
    """Mark a database, whose tables were just made, as the newest version."""
    MigrationContext.configure(connection).stamp(_scripts(), "head")


def migrate(connection: Connection) -> None:
    """Run the steps that the database lacks, inside the transaction it is in."""
    scripts = _scripts()

    def steps(version: tuple[str, ...], _context: MigrationContext) -> list[RevisionStep]:
        return scripts._upgrade_revs("head", version)  # type: ignore[arg-type]  # noqa: SLF001  # as Alembic's own upgrade command does

    with EnvironmentContext(_config(), scripts, fn=steps, destination_rev="head") as environment:
        environment.configure(
            connection=connection, target_metadata=METADATA, transactional_ddl=True
        )
        environment.run_migrations()
