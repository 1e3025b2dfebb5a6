"""The real server in a process of its own, as a shop runs it, for the tests in a browser."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
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
