"""A Dask scheduler and two workers, each a process of its own, for tests."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from typing import Any

import pytest

from stores import free_port

QUIET: dict[str, Any] = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}


@dataclass(frozen=True)
class TwoWorkers:
    """The scheduler's address, and the process of each worker by its name."""

    address: str
    workers: dict[str, subprocess.Popen[bytes]]

    def kill(self, name: str) -> None:
        """End a worker at once, as a power cut would (SIGKILL)."""
        os.kill(self.workers[name].pid, signal.SIGKILL)
        assert self.workers[name].wait() == -signal.SIGKILL

    def kill_at_work(self, name: str, order: subprocess.Popen[str]) -> None:
        """End a worker while a command has it at work, after some of the work was done."""
        from distributed import Client  # noqa: PLC0415  # slow to load

        seen: set[str] = set()
        with Client(self.address, set_as_default=False) as client:  # type: ignore[no-untyped-call]  # Dask has no types
            while order.poll() is None:
                told = dict(client.processing())
                mine = next((keys for at, keys in told.items() if _name(client, at) == name), ())
                seen |= set(mine)
                if mine and len(seen - set(mine)) > 1:
                    self.kill(name)
                    return
                time.sleep(0.01)
        msg = "the command ended before the worker was at work"
        raise AssertionError(msg)


def _name(client: Any, address: str) -> str | None:  # Dask has no types
    workers = client.scheduler_info(n_workers=-1)["workers"]
    return str(workers[address]["name"]) if address in workers else None


@contextmanager
def two_workers() -> Iterator[TwoWorkers]:
    """Start them; all are ended afterwards."""
    pytest.importorskip("distributed", reason="Dask is absent: pip install 'tubside[cluster]'")
    port = str(free_port())
    address = f"tcp://127.0.0.1:{port}"
    running = {"scheduler": _begin("scheduler", "--host", "127.0.0.1", "--port", port)}
    for name in ("worker-0", "worker-1"):
        running[name] = _begin("worker", address, "--no-nanny", "--nthreads", "1", "--name", name)
    try:
        _until_it_listens(int(port), running["scheduler"])
        yield TwoWorkers(address, {k: v for k, v in running.items() if k != "scheduler"})
    finally:
        for one in running.values():
            one.kill()
            one.wait()


def _until_it_listens(port: int, scheduler: subprocess.Popen[bytes]) -> None:
    """Wait for the scheduler, however busy the computer is."""
    while scheduler.poll() is None:
        with suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=1.0):
            return
        time.sleep(0.05)
    msg = "the scheduler ended at once"
    raise AssertionError(msg)


def _begin(program: str, *arguments: str) -> subprocess.Popen[bytes]:
    order = [sys.executable, "-m", f"distributed.cli.dask_{program}", *arguments]
    return subprocess.Popen([*order, "--no-dashboard"], **QUIET)
