"""Where a shop's data lives: a folder of its own, or a PostgreSQL database."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from tubside.store.opening import Store

DATABASE = "tubside.sqlite"
BACKUPS = "backups"


def default_folder() -> Path:
    """The folder used when none is named (XDG Base Directory Specification 0.8)."""
    base = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return Path(base) / "tubside"


def open_data(place: str | Path, clock: Callable[[], datetime]) -> Store:
    """Open the data in a folder (made if absent), or at a ``postgresql://`` address.

    Brings an older database up to date; a SQLite one is backed up first. Close it
    with ``store.close()``.

    Raises
    ------
    StoreError
        When it cannot be opened, or was written by a newer program.
    """
    raise NotImplementedError
