"""A fence around the folders a process may open, where the Linux kernel has Landlock.

Rights and structures: Linux kernel documentation, "Landlock: unprivileged access
control" (uapi/linux/landlock.h); the version that the kernel tells says which of them
it knows.
"""

from __future__ import annotations

import ctypes
import os
import struct
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

_CREATE, _ADD, _RESTRICT = 444, 445, 446  # the same numbers on every machine
_TELL_VERSION = 1
_UNDER_A_FOLDER = 1
_READ_FILE, _READ_FOLDER = 1 << 2, 1 << 3
_FIRST_RIGHTS = (1 << 13) - 1
_RIGHTS_SINCE = {2: 1 << 13, 3: 1 << 14, 5: 1 << 15}  # rename across folders, cut, devices
_NETWORK_SINCE, _BIND_AND_CONNECT = 4, 0b11
_OF_FILES = (1 << 0) | (1 << 1) | _READ_FILE | (1 << 14) | (1 << 15)
_NO_NEW_PRIVILEGES = 38


def fence(read: Iterable[Path], write: Iterable[Path]) -> bool:
    """From now on open only what lies in ``read``, and ``write`` too for writing.

    It holds for this thread and those it starts: to be called before any other is
    there. What is missing among the places is passed over. Whether the kernel took it.
    """
    libc = ctypes.CDLL(None, use_errno=True)
    version = int(libc.syscall(_CREATE, None, 0, _TELL_VERSION))
    if version < 1:
        return False
    rights = _FIRST_RIGHTS | sum(r for since, r in _RIGHTS_SINCE.items() if version >= since)
    network = _BIND_AND_CONNECT if version >= _NETWORK_SINCE else 0
    handled = struct.pack("=QQ", rights, network)[: 16 if network else 8]
    rules = int(libc.syscall(_CREATE, handled, len(handled), 0))
    if rules < 0:
        return False
    try:
        for place in read:
            _allow(libc, rules, place, _READ_FILE | _READ_FOLDER)
        for place in write:
            _allow(libc, rules, place, rights)
        if libc.prctl(_NO_NEW_PRIVILEGES, 1, 0, 0, 0) != 0:
            return False
        return bool(libc.syscall(_RESTRICT, rules, 0) == 0)
    finally:
        os.close(rules)


def _allow(libc: ctypes.CDLL, rules: int, place: Path, rights: int) -> None:
    with suppress(OSError):
        opened = os.open(place, os.O_PATH | os.O_CLOEXEC)
        try:
            kept = rights if place.is_dir() else rights & _OF_FILES
            told = ctypes.create_string_buffer(struct.pack("=Qi", kept, opened))
            libc.syscall(_ADD, rules, _UNDER_A_FOLDER, told, 0)
        finally:
            os.close(opened)
