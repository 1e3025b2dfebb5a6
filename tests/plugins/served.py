"""The real server in a process of its own, as a shop runs it, for the tests in a browser."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import IO


@dataclass(frozen=True)
class Served:
    """A running server, its address without the last slash, and its data folder."""

    process: subprocess.Popen[str]
    address: str
    data: Path

    def kill(self) -> None:
        """End it at once, as a power cut would (SIGKILL)."""
        self.process.kill()
        self.process.wait(timeout=10)


def _address(lines: IO[str]) -> str:
    told = []
    for line in lines:
        told.append(line)
        if found := re.search(r"(http://127\.0\.0\.1:\d+)/", line):
            return found[1]
    msg = "the server did not start: " + "".join(told)
    raise AssertionError(msg)


@contextmanager
def served(data: Path, *more: str) -> Iterator[Served]:
    """Serve a data folder on a free port while the block runs; ``more`` goes to the command."""
    command = [sys.executable, "-m", "tubside", "serve", "--port", "0", "--data", str(data)]
    command += more
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    ) as process:
        try:
            assert process.stdout is not None
            yield Served(process, _address(process.stdout), data)
        finally:
            process.kill()


@contextmanager
def served_together(count: int, place: str, home: Path, *more: str) -> Iterator[list[str]]:
    """Serve one database by several processes; their addresses without the last slash.

    ``home`` is where the shop's own files are (XDG_DATA_HOME); ``more`` goes to the commands.
    """
    command = [sys.executable, "-m", "tubside", "serve", "--port", "0", "--data", place, *more]
    surroundings = {**os.environ, "XDG_DATA_HOME": str(home)}
    pipe = subprocess.PIPE
    running = [
        subprocess.Popen(
            command, stdout=pipe, stderr=subprocess.STDOUT, text=True, env=surroundings
        )
        for _ in range(count)
    ]
    try:
        yield [_address(one.stdout) for one in running if one.stdout is not None]
    finally:
        for one in running:
            one.kill()
            one.communicate()


READY = """
import os, sys
import tubside.service.data_folder, tubside.service.library, tubside.web.serving, tubside.web.shop
from tubside.cli import main
for line in sys.stdin:
    child = os.fork()
    if child == 0:
        main(["serve", "--port", "0", "--data", line.rstrip("\\n")])
        os._exit(0)
    print("child", child, flush=True)
    os.waitpid(child, 0)
    print("gone", flush=True)
"""
"""Loads the program once and forks a server for each folder it is told."""


@dataclass(frozen=True)
class Forking:
    """A process that forks servers which need load nothing any more; one at a time."""

    process: subprocess.Popen[str]

    @contextmanager
    def served(self, data: Path) -> Iterator[Forked]:
        """Serve a data folder on a free port while the block runs."""
        told, lines = self.process.stdin, self.process.stdout
        assert told is not None
        assert lines is not None
        told.write(f"{data}\n")
        told.flush()
        child = int(lines.readline().removeprefix("child "))
        server = Forked(child, _address(lines))
        try:
            yield server
        finally:
            server.kill()
            while lines.readline() not in {"gone\n", ""}:
                pass


@dataclass(frozen=True)
class Forked:
    """A forked server and its address without the last slash."""

    child: int
    address: str

    def kill(self) -> None:
        """End it at once, as a power cut would (SIGKILL)."""
        with suppress(ProcessLookupError):
            os.kill(self.child, signal.SIGKILL)


@contextmanager
def forking() -> Iterator[Forking]:
    """Have a process ready to fork servers."""
    command = [sys.executable, "-c", READY]
    pipe = subprocess.PIPE
    with subprocess.Popen(
        command, stdin=pipe, stdout=pipe, stderr=subprocess.STDOUT, text=True
    ) as process:
        try:
            yield Forking(process)
        finally:
            process.kill()
