"""Where lamps were tapped in a clip's first frame, read strictly."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from pathlib import Path

from tubside.errors import RecordingError

Taps = Mapping[str, tuple[float, float]]

MOST_LAMPS = 40
LARGEST_FILE = 64 * 1024
EXAMPLE = 'write {"lamp id": [x, y], ...} in pixels of the first frame'


def read_taps(path: Path) -> dict[str, tuple[float, float]]:
    """Return the taps in a file: ``{"lamp id": [x, y], ...}``.

    Raises
    ------
    RecordingError
        With the file, what is wrong in it, and how to mend it.
    """
    try:
        raw = path.read_bytes()
    except OSError as wrong:
        msg = f"{path}: cannot be read ({wrong.strerror}); check the name"
        raise RecordingError(msg) from None
    if len(raw) > LARGEST_FILE:
        msg = f"{path}: is too large for taps; {EXAMPLE}"
        raise RecordingError(msg)
    try:
        told = json.loads(raw.decode("utf-8-sig"), object_pairs_hook=_once)
    except UnicodeDecodeError:
        msg = f"{path}: is not UTF-8; save it so"
        raise RecordingError(msg) from None
    except json.JSONDecodeError as wrong:
        msg = f"{path}:{wrong.lineno}: is not JSON ({wrong.msg}); {EXAMPLE}"
        raise RecordingError(msg) from None
    except RecursionError:
        msg = f"{path}: is nested too deep; {EXAMPLE}"
        raise RecordingError(msg) from None
    except RecordingError as wrong:
        msg = f"{path}: {wrong}"
        raise RecordingError(msg) from None
    return checked_taps(told, str(path))


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        msg = f"lamp '{twice}' is there twice; keep one of them"
        raise RecordingError(msg)
    return found


def checked_taps(told: object, file: str) -> dict[str, tuple[float, float]]:
    """Return taps of any origin once they are found to be some.

    Raises
    ------
    RecordingError
        Telling every lamp that is wrong.
    """
    if not isinstance(told, dict) or not told:
        msg = f"{file}: holds no lamps; {EXAMPLE}"
        raise RecordingError(msg)
    if len(told) > MOST_LAMPS:
        msg = f"{file}: has {len(told)} lamps; {MOST_LAMPS} are read at most"
        raise RecordingError(msg)
    wrong = [f"{file}: lamp {name!r}: {what}" for name, at in told.items() if (what := _wrong(at))]
    if wrong:
        raise RecordingError("\n".join(wrong))
    return {str(name): (float(at[0]), float(at[1])) for name, at in told.items()}


def _wrong(at: object) -> str | None:
    """What is wrong with one place, if anything."""
    if not isinstance(at, list | tuple) or len(at) != 2:
        return "its place is not two numbers; write [x, y]"
    if any(isinstance(value, bool) or not isinstance(value, int | float) for value in at):
        return "its place is not two numbers; write [x, y] without quotes"
    if not all(math.isfinite(value) for value in at):
        return "its place is not finite; write [x, y] in pixels"
    return None
