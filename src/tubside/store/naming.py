"""Names of the files a shop's data is in, and how they are made to stay."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import URL

BACKUPS = "backups"


def dated(what: str, moment: datetime) -> str:
    """File name of a copy made at a moment (UTC), such as ``backup-20260301T090000Z.sqlite``."""
    return f"{what}-{moment.astimezone(UTC):%Y%m%dT%H%M%S%fZ}.sqlite"


def address_of(file: Path) -> URL:
    """The address of a SQLite file, whatever signs its name holds."""
    return URL.create("sqlite", database=str(file))


def keep_names(folder: Path) -> None:
    """Have the names in a folder on the disk, also when the power goes."""
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
