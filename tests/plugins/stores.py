"""Fresh stores for tests: SQLite always, PostgreSQL where Debian's server is there.

The server is started by the tests themselves, on a free port, as the user
``postgres`` when the tests run as root (it refuses to run as root), and is ended
and thrown away after them.
"""

from __future__ import annotations

import itertools
import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tubside.service.authors import Author
    from tubside.store.opening import Store

PROGRAMS = Path("/usr/lib/postgresql/15/bin")
START = datetime(2026, 3, 2, 8, 10, tzinfo=UTC)


class Ticking:
    """A clock that goes on by a second whenever it is read."""

    def __init__(self, start: datetime = START) -> None:
        self.now = start

    def __call__(self) -> datetime:
        """Return the next second."""
        self.now += timedelta(seconds=1)
        return self.now


@dataclass(frozen=True)
class Server:
    """A PostgreSQL server of the tests' own."""

    port: int

    def run(self, program: str, *arguments: str) -> None:
        """Run one of its programs against it."""
        place = ["--host=127.0.0.1", f"--port={self.port}", "--username=postgres"]
        subprocess.run([PROGRAMS / program, *place, *arguments], check=True, capture_output=True)

    def address(self, database: str) -> str:
        """Return the address of a database on it."""
        return f"postgresql://postgres@127.0.0.1:{self.port}/{database}"


def free_port() -> int:
    """Return a port that nobody listens on."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return int(taken.getsockname()[1])


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """Start PostgreSQL; skip, with the reason, where it is absent."""
    if not (PROGRAMS / "initdb").exists():
        pytest.skip("PostgreSQL 15 is absent: run 'make system' as root")
    user = "postgres" if os.geteuid() == 0 else None
    folder = Path(tempfile.mkdtemp(prefix="tubside-postgres-"))
    if user is not None:
        shutil.chown(folder, user)
    port = free_port()

    def run(*arguments: str | Path) -> None:
        subprocess.run(arguments, check=True, capture_output=True, user=user, cwd=folder)

    data, log = folder / "data", folder / "log"
    options = (
        f"-p {port} -c listen_addresses=127.0.0.1 -c unix_socket_directories= -c fsync=off "
        "-c shared_buffers=16MB"
    )
    try:
        run(PROGRAMS / "initdb", "-D", data, "-U", "postgres", "--auth=trust", "--no-sync")
        run(PROGRAMS / "pg_ctl", "-D", data, "-l", log, "-w", "-o", options, "start")
        yield Server(port)
    finally:
        subprocess.run(
            [PROGRAMS / "pg_ctl", "-D", data, "-m", "immediate", "stop"],
            check=False,
            capture_output=True,
            user=user,
            cwd=folder,
        )
        shutil.rmtree(folder, ignore_errors=True)


_NUMBERS = itertools.count()


@pytest.fixture
def new_database(server: Server) -> Callable[[], str]:
    """Return a function that makes an empty database and gives its address."""

    def make() -> str:
        name = f"shop_{next(_NUMBERS)}"
        server.run("createdb", name)
        return server.address(name)

    return make


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> str | Path:
    """Return where an empty store may be opened, on each kind of database."""
    if request.param == "sqlite":
        return tmp_path / "data"
    return str(request.getfixturevalue("new_database")())


@pytest.fixture
def clock() -> Ticking:
    """Return a clock of the test's own."""
    return Ticking()


@pytest.fixture
def store(place: str | Path, clock: Ticking) -> Iterator[Store]:
    """Return an open, empty store, on each kind of database."""
    from tubside.service.data_folder import open_data  # noqa: PLC0415  # other tests shall not load it

    opened = open_data(place, clock)
    yield opened
    opened.close()


@pytest.fixture
def author(clock: Ticking) -> Author:
    """Return an author whose facts are numbered one after the other."""
    from tubside.service.authors import Author  # noqa: PLC0415

    numbers = itertools.count()
    return Author("server", clock, lambda: f"fact-{next(numbers):05}")
