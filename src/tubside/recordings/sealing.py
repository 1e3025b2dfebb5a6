"""Shut a process off before it looks at a file that a stranger sent.

What holds where:

=====================================  =====  =====  =======
limit                                  Linux  macOS  Windows
=====================================  =====  =====  =======
time (the parent ends it)              yes    yes    yes
processor time                         yes    yes    no
memory (address space)                 yes    no     no
size of a file written, open files     yes    yes    no
no child process, no other program     yes    yes    no
no network                             yes    no     no
only its own folders                   yes    no     no
=====================================  =====  =====  =======

On Linux, "no child process" needs an x86-64 or ARM64 machine, and "only its own
folders" a kernel with Landlock (5.13 and later); :func:`seal` tells what it could set.
"""

from __future__ import annotations

import ctypes
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

if sys.platform != "win32":
    import resource

_NEW_USER, _NEW_NETWORK = 0x10000000, 0x40000000  # CLONE_NEWUSER, CLONE_NEWNET

_DIE_WITH_PARENT, _KILL = 1, 9  # PR_SET_PDEATHSIG, SIGKILL


@dataclass(frozen=True, slots=True)
class Limits:
    """What the process may use at most: [s], [bytes], [bytes], number."""

    processor_s: int = 1200
    memory: int = 3 << 30
    written: int = 512 << 20
    open_files: int = 64


def seal(limits: Limits, files: Sequence[Path], folder: Path) -> tuple[str, ...]:
    """Limit this process for good, which may then read ``files`` and write in ``folder``.

    To be called before any thread is started. What could be set, in words.
    """
    os.umask(0o077)
    os.chdir(folder)
    told = _limited(limits)
    if sys.platform == "linux":
        from tubside.recordings.call_filter import filter_calls  # noqa: PLC0415  # Linux only
        from tubside.recordings.folder_fence import fence  # noqa: PLC0415

        libc = ctypes.CDLL(None, use_errno=True)
        libc.prctl(_DIE_WITH_PARENT, _KILL, 0, 0, 0)
        if libc.unshare(_NEW_USER | _NEW_NETWORK) == 0:
            told.append("network of its own")
        if fence([*_program_folders(), *files], [folder]):
            told.append("folders")
        if filter_calls():
            told.append("calls")
    return tuple(told)


def _limited(limits: Limits) -> list[str]:
    if sys.platform == "win32":
        return []
    wanted = {
        "processor time": (resource.RLIMIT_CPU, limits.processor_s),
        "file size": (resource.RLIMIT_FSIZE, limits.written),
        "open files": (resource.RLIMIT_NOFILE, limits.open_files),
        "core": (resource.RLIMIT_CORE, 0),
    }
    if sys.platform == "linux":
        wanted["memory"] = (resource.RLIMIT_AS, limits.memory)
    else:
        wanted["children"] = (resource.RLIMIT_NPROC, 0)
    told = []
    for name, (kind, most) in wanted.items():
        with suppress(OSError, ValueError):
            _, there = resource.getrlimit(kind)
            least = most if there == resource.RLIM_INFINITY else min(most, there)
            resource.setrlimit(kind, (least, least))
            told.append(name)
    return told


def tighten(processor_s: int) -> None:
    """Allow less processor time than before, once it is known how much is needed."""
    if sys.platform != "win32":
        _, there = resource.getrlimit(resource.RLIMIT_CPU)
        least = min(processor_s, there) if there != resource.RLIM_INFINITY else processor_s
        with suppress(OSError, ValueError):
            resource.setrlimit(resource.RLIMIT_CPU, (least, least))


def _program_folders() -> list[Path]:
    """Where Python, its packages and the system's libraries lie."""
    here = Path(__file__).resolve().parents[1]
    roots = {Path(sys.prefix), Path(sys.base_prefix), Path(sys.executable).resolve().parent, here}
    system = [Path(p) for p in ("/usr", "/lib", "/lib64", "/etc/ld.so.cache", "/sys/devices")]
    devices = [Path(p) for p in ("/dev/null", "/dev/urandom", "/proc/cpuinfo", "/proc/meminfo")]
    packages = [Path(place) for place in sys.path if place]
    return [*sorted(roots), *packages, *system, *devices]
