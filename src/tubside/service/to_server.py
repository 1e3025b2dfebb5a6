"""A shop that outgrows one machine: its data moved to a PostgreSQL server."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from tubside.errors import StoreError
from tubside.service.data_folder import home_folder, is_address, open_data
from tubside.store.folders import DATABASE
from tubside.store.to_server import Moved, Told, move_rows

__all__ = ["Moved", "move_to_server"]


def move_to_server(folder: Path, address: str, clock: Callable[[], datetime], told: Told) -> Moved:
    """Copy all data of a folder into an empty PostgreSQL database; the folder stays as it is.

    Raises
    ------
    StoreError
        When there are no data in the folder, the address is none of a server, the database there
        is not empty, or does not hold the same in the end.
    """
    if is_address(str(folder)) or not (folder / DATABASE).is_file():
        msg = f"there are no data in {folder}; name the folder that the server used so far"
        raise StoreError(msg)
    if not is_address(address) or not address.startswith("postgresql"):
        msg = f"'{address}' is no address of a server; write it like postgresql://user@host/name"
        raise StoreError(msg)
    source = open_data(folder, clock)
    try:
        target = open_data(address, clock)
        try:
            return move_rows(source, target, (folder, home_folder(address)), told)
        finally:
            target.close()
    finally:
        source.close()
