"""Read a recording in a process of its own, shut off and timed.

Uploads are hostile until proven harmless: whatever a file does to the decoding
library, it does to a process that has no network, no other program, no data of the
shop, little time and little memory, and that is gone afterwards.
"""

from __future__ import annotations

import os
import selectors
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from shutil import move
from tempfile import TemporaryDirectory
from typing import Any

import msgspec

from tubside.errors import RecordingError
from tubside.recordings.reader import READERS, Asked
from tubside.recordings.time_allowed import AT_MOST_S, Size, allowed_s

PYTHON = sys.executable
START_S = 20.0
"""For the process to start; that is this machine's doing, not the file's."""
OPEN_S = 4.0
"""For the first picture or sound: a good file yields it within a few hundredths."""
MOST_TOLD = 16 << 20


class _Line(msgspec.Struct, frozen=True):
    ready: list[str] | None = None
    opened: list[Size] | None = None
    share: float | None = None
    answer: dict[str, Any] | None = None
    wrong: str | None = None
    failed: str | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """An answer as the reader's JSON, decoded, and what its process was limited in."""

    answer: dict[str, Any]
    sealed: tuple[str, ...]


def read_apart(
    kind: str,
    paths: Sequence[Path],
    options: Mapping[str, Any] | bytes = b"{}",
    *,
    told: Callable[[float], None] | None = None,
    kept: Mapping[str, Path] | None = None,
    beside: Sequence[Path] = (),
) -> dict[str, Any]:
    """What a reader tells of recordings, read in a process of its own.

    Parameters
    ----------
    kind
        A name of :data:`tubside.recordings.reader.READERS`.
    options
        For the reader, as JSON or to be written as JSON.
    told
        Called with the share of a file that was read, 0 to 1.
    kept
        Name of a file that the reader may write into its working folder -> where to move it.
    beside
        Other files that the reader opens.

    Raises
    ------
    RecordingError
        Saying what is wrong with the recording and how to mend it.
    """
    return read_sealed(kind, paths, options, told=told, kept=kept, beside=beside).answer


def read_sealed(
    kind: str,
    paths: Sequence[Path],
    options: Mapping[str, Any] | bytes = b"{}",
    *,
    told: Callable[[float], None] | None = None,
    kept: Mapping[str, Path] | None = None,
    beside: Sequence[Path] = (),
) -> Reading:
    """Like :func:`read_apart`, and tells too what the process was limited in."""
    if kind not in READERS:
        msg = f"there is no reader of {kind!a}; there are {', '.join(READERS)}"
        raise RecordingError(msg)
    raw = options if isinstance(options, bytes) else msgspec.json.encode(options)
    with TemporaryDirectory(prefix="tubside-") as folder:
        asked = Asked(
            kind=kind,
            files=[str(path.resolve()) for path in paths],
            folder=folder,
            options=msgspec.Raw(raw),
            beside=[str(path.resolve()) for path in beside],
        )
        with _process(folder, asked) as process:
            reading = _heard(process, [path.name for path in paths], told)
        for name, place in (kept or {}).items():
            if Path(folder, name).exists():
                move(str(Path(folder, name)), place)
    return reading


@contextmanager
def _process(folder: str, asked: Asked) -> Iterator[subprocess.Popen[bytes]]:
    process = subprocess.Popen(  # noqa: S603  # this Python, this module
        [PYTHON, "-I", "-m", "tubside.recordings.reader"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        cwd=folder,
        env=_closed_environment(folder),
        start_new_session=True,
    )
    try:
        assert process.stdin is not None
        with suppress(BrokenPipeError), process.stdin as to:
            to.write(msgspec.json.encode(asked))
        yield process
    finally:
        with suppress(OSError):
            process.kill()
        if process.stdout is not None:
            process.stdout.close()
        process.wait()


def _closed_environment(folder: str) -> dict[str, str]:
    one = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"), "1")
    home = {"HOME": folder, "TMPDIR": folder, "TMP": folder, "TEMP": folder}
    system = {name: os.environ[name] for name in ("SYSTEMROOT",) if name in os.environ}
    return one | home | system | {"LC_ALL": "C.UTF-8", "PATH": "", "MALLOC_ARENA_MAX": "2"}


def _heard(
    process: subprocess.Popen[bytes], names: Sequence[str], told: Callable[[float], None] | None
) -> Reading:
    """The answer, or the error, that the process tells before its time is up."""
    which = ", ".join(names)
    late = f"the reader of {which} did not start; try again when this machine is less busy"
    until = time.monotonic() + START_S
    sealed: tuple[str, ...] = ()
    lines = _lines(process)
    while True:
        try:
            line = lines(until - time.monotonic())
        except TimeoutError:
            raise RecordingError(late) from None
        if line is None:
            raise RecordingError(_ended(process, which))
        if line.ready is not None:
            sealed = tuple(line.ready)
            until = time.monotonic() + OPEN_S
            late = f"{which} yields no picture or sound in {OPEN_S:.0f} s; send the original file"
        elif line.opened is not None:
            allowed = min(allowed_s(line.opened), AT_MOST_S)
            until = time.monotonic() + allowed
            late = f"{which} is not read within {allowed:.0f} s; record ten seconds at 1080p"
        elif line.share is not None and told is not None:
            told(min(max(line.share, 0.0), 1.0))
        elif line.answer is not None:
            return Reading(line.answer, sealed)
        elif line.wrong is not None or line.failed is not None:
            raise RecordingError(line.wrong or f"{which} cannot be read: {line.failed}")


def _lines(process: subprocess.Popen[bytes]) -> Callable[[float], _Line | None]:
    """A function that waits so long for the next line; None at the end."""
    assert process.stdout is not None
    pipe = process.stdout.fileno()
    waiting, counted = bytearray(), 0
    decoder = msgspec.json.Decoder(_Line)

    def next_line(patience: float) -> _Line | None:
        nonlocal counted
        until = time.monotonic() + patience
        while b"\n" not in waiting:
            if not _readable(pipe, until - time.monotonic()):
                raise TimeoutError
            found = os.read(pipe, 1 << 16)
            counted += len(found)
            if not found or counted > MOST_TOLD:
                return None
            waiting.extend(found)
        line, _, rest = bytes(waiting).partition(b"\n")
        waiting[:] = rest
        try:
            return decoder.decode(line)
        except msgspec.MsgspecError:
            return None

    return next_line


def _readable(pipe: int, patience: float) -> bool:
    with selectors.DefaultSelector() as selector:
        selector.register(pipe, selectors.EVENT_READ)
        return bool(selector.select(max(patience, 0.0)))


def _ended(process: subprocess.Popen[bytes], which: str) -> str:
    with suppress(subprocess.TimeoutExpired):
        process.wait(1.0)
    if process.returncode is not None and -process.returncode == 24:  # SIGXCPU
        return f"{which} takes too long to read; record ten seconds at 1080p"
    return f"{which} broke its reader and was put aside; record and send it again"
