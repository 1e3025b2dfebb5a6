"""One writer at a time in a folder of the shop's files, over all app processes that see it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Lock

try:
    import fcntl
except ImportError:  # not on Windows, where a shop has one app process
    fcntl = None  # type: ignore[assignment]  # asked for below

_THREADS = Lock()


@contextmanager
def one_writer(folder: Path) -> Iterator[None]:
    """Wait until nobody else writes into a folder, and keep others out.

    What is locked is an empty file beside the folder; a process that ends lets go of it,
    however it ends (flock(2)).
    """
    folder.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    with _THREADS, (folder.parent / f".{folder.name}-writing").open("ab") as held:
        if fcntl is not None:
            fcntl.flock(held, fcntl.LOCK_EX)
        yield
