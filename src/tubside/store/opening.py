"""Connect to a database, and hand out transactions."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError, OperationalError
from sqlalchemy.pool import ConnectionPoolEntry

from tubside.errors import StoreError
from tubside.store.alive import look_before_use

BUSY_MS = 10_000
"""How long a writer waits for another one before it gives up."""
PRAGMAS = (
    "journal_mode=WAL",  # readers and the one writer do not wait for each other
    "synchronous=FULL",  # what was acknowledged is on disk, also when the power goes
    "foreign_keys=ON",
    "secure_delete=ON",  # what is erased is overwritten
    f"busy_timeout={BUSY_MS}",
)


WRITERS = 0x7475_6273
"""Key of the lock that orders writers on PostgreSQL; any number that is ours."""
_READ_ONLY = {"mode": "ro", "uri": "true"}
# The lock must be seen through: a moment fixed before it would miss the writer before us.
_SERVER_WRITES: Mapping[str, Any] = {"writes": True, "isolation_level": "READ COMMITTED"}
_SERVER_GLANCES: Mapping[str, Any] = {"isolation_level": "AUTOCOMMIT"}
CONNECTIONS = 15
"""Most that one process has open to a server; they stay open, as opening one takes long."""


@dataclass(frozen=True, slots=True)
class Store:
    """An open database, up to date; safe to share by threads."""

    engine: Engine

    @property
    def file(self) -> Path | None:
        """The database file; None on PostgreSQL."""
        return file_of(self.engine.url)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A transaction that sees one moment of the store.

        Raises
        ------
        StoreError
            When the database cannot be reached.
        """
        with transaction(self.engine, writes=False) as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that writes, all or none; on disk when it ends without an error.

        Raises
        ------
        StoreError
            When the database cannot be reached.
        """
        with transaction(self.engine, writes=True) as connection:
            yield connection

    @contextmanager
    def glancing(self) -> Iterator[Connection]:
        """For one question alone, which needs no transaction around it.

        Raises
        ------
        StoreError
            When the database cannot be reached.
        """
        with _connected(self.engine, _glances(self.engine)) as connection:
            yield connection

    @contextmanager
    def noting(self) -> Iterator[Connection]:
        """A transaction for notes that may be lost when the power goes, on rows of their own.

        On PostgreSQL it waits neither for other writers nor for the disk: what it reads in
        order to write it has to lock itself.

        Raises
        ------
        StoreError
            When the database cannot be reached.
        """
        with _connected(self.engine, _writes(self.engine)) as connection, connection.begin():
            if _on_server(self.engine):
                connection.exec_driver_sql("SET LOCAL synchronous_commit TO off")
            yield connection

    def settle(self) -> None:
        """Fold the log into the file, so that what was erased is gone from both.

        On SQLite only, and as far as readers at work allow; the rest goes later.
        """
        if self.file is not None:
            raw = self.engine.raw_connection()
            try:
                raw.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
            finally:
                raw.close()

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()


@contextmanager
def transaction(engine: Engine, *, writes: bool) -> Iterator[Connection]:
    """A transaction; those that write come one after the other, on PostgreSQL as on SQLite.

    Raises
    ------
    StoreError
        When the database cannot be reached, or stays busy.
    """
    options = _writes(engine) if writes else {"writes": False}
    with _connected(engine, options) as connection, connection.begin():
        if writes and _on_server(engine):
            connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITERS})")
        yield connection


@contextmanager
def _connected(engine: Engine, options: Mapping[str, Any]) -> Iterator[Connection]:
    try:
        with engine.connect().execution_options(**options) as connection:
            yield connection
    except OperationalError as wrong:
        raise unreachable(engine.url, wrong) from wrong


def _on_server(engine: Engine) -> bool:
    return engine.dialect.name == "postgresql"


def _writes(engine: Engine) -> Mapping[str, Any]:
    return _SERVER_WRITES if _on_server(engine) else {"writes": True}


def _glances(engine: Engine) -> Mapping[str, Any]:
    return _SERVER_GLANCES if _on_server(engine) else {"writes": False}


def connect(url: str | URL) -> Engine:
    """An engine for the database at an address, as it is.

    Raises
    ------
    StoreError
        When the address is malformed, of another kind, or lacks its driver.
    """
    try:
        address = make_url(url)
        if address.drivername == "postgresql":
            address = address.set(drivername="postgresql+psycopg")
        if address.get_backend_name() not in {"sqlite", "postgresql"}:
            msg = f"'{address.drivername}' is no kind of store; use a folder or postgresql://..."
            raise StoreError(msg)
        engine = create_engine(address, **_options(address))
    except (ArgumentError, NoSuchModuleError, ValueError) as wrong:
        msg = "the address of the database cannot be read; use a folder or postgresql://..."
        raise StoreError(msg) from wrong
    except ModuleNotFoundError as wrong:
        msg = f"{wrong.name} is missing; install 'tubside[postgres]'"
        raise StoreError(msg) from wrong
    return look_before_use(engine) if _on_server(engine) else _set_up(engine, PRAGMAS)


def connect_reading(file: Path) -> Engine:
    """An engine that reads a SQLite file and leaves every byte of it as it is."""
    address = URL.create("sqlite", database=f"{file.absolute().as_uri()}", query=_READ_ONLY)
    return _set_up(create_engine(address), ())


def file_of(url: URL) -> Path | None:
    """The file of a SQLite database; None for any other."""
    return Path(url.database) if url.get_backend_name() == "sqlite" and url.database else None


def _options(address: URL) -> dict[str, Any]:
    if address.get_backend_name() == "sqlite":
        return {"connect_args": {"check_same_thread": False}}
    # one moment for a whole reading, as on SQLite; a lock orders those who write
    few = {"pool_size": CONNECTIONS, "max_overflow": 0, "pool_use_lifo": True}
    return {**few, "isolation_level": "REPEATABLE READ"}


def _set_up(engine: Engine, pragmas: tuple[str, ...]) -> Engine:
    def connected(opened: sqlite3.Connection, _entry: ConnectionPoolEntry) -> None:
        opened.isolation_level = None  # transactions begin where _begin says, and nowhere else
        for pragma in pragmas:
            opened.execute(f"PRAGMA {pragma}")

    event.listen(engine, "connect", connected)
    event.listen(engine, "begin", _begin)
    return engine


def _begin(connection: Connection) -> None:
    """Who means to write takes the lock at once, rather than fail in the middle."""
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def unreachable(url: URL, wrong: DBAPIError) -> StoreError:
    """The error that tells which database failed and how, without its password."""
    where = url.render_as_string(hide_password=True)
    return StoreError(f"the database {where} cannot be used: {wrong.orig}")
