"""Open a store: brought up to date, step by step, a backup first."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from sqlalchemy import URL, Engine, inspect
from sqlalchemy.exc import DBAPIError

from tubside.errors import StoreError
from tubside.store.backup import write_backup
from tubside.store.naming import BACKUPS, dated
from tubside.store.opening import Store, connect, file_of, transaction, unreachable
from tubside.store.versions import migrate, newest, version_of


def open_store(url: str | URL, clock: Callable[[], datetime]) -> Store:
    """Open the database at an address, made if it is a SQLite file that is not there.

    An older database is brought up to date; a SQLite one is backed up first, with
    the models beside it, into the folder ``backups`` there.

    Raises
    ------
    StoreError
        When it cannot be opened, or was written by a newer program.
    """
    engine = connect(url)
    try:
        bring_up_to_date(engine, clock)
    except DBAPIError as wrong:
        engine.dispose()
        raise unreachable(engine.url, wrong) from wrong
    except BaseException:
        engine.dispose()
        raise
    return Store(engine)


def bring_up_to_date(engine: Engine, clock: Callable[[], datetime]) -> None:
    """Run every migration that the database lacks, all or none.

    Raises
    ------
    StoreError
        When it holds something else, or was written by a newer program.
    """
    with transaction(engine, writes=False) as connection:
        version = version_of(connection)
        strange = version is None and bool(inspect(connection).get_table_names())
    if strange:
        msg = f"the database {engine.url.render_as_string()} holds something else; name another"
        raise StoreError(msg)
    if version == newest():
        return
    file = file_of(engine.url)
    if version is not None and file is not None:
        copy = file.parent / BACKUPS / dated("before-migration", clock())
        write_backup(engine, copy, file.parent)
    with transaction(engine, writes=True) as connection:
        migrate(connection)
