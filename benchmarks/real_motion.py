"""How often real motion, in which no tub is pushed, is taken for a push or a run-up.

``python benchmarks/real_motion.py FOLDER [even|odd]``: the folder holds the unpacked wheels of
seglearn 1.2.5 (a watch on the wrist during exercises of the shoulder, 50 a second, in g) and of
aeon 1.6.0 (BasicMotions: a watch while walking, running, standing, playing, 10 a second).
The reader was developed on recordings of even number, counted from 0, and those of odd number
were kept to measure it once. Neither is of this project's makers; rates and units from memory
where the file states none.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tubside.errors import RecordingError
from tubside.recordings.shake.answering import read_shake
from tubside.recordings.shake.log_file import parse_log

Array = NDArray[np.float64]
WATCH_HZ, BASIC_HZ = 50.0, 10.0
PIECE_S = 12.0
"""As long as the page records."""
G = 9.80665


def watch(folder: Path) -> Iterator[tuple[int, str, Array]]:
    """Yield number, name and acceleration [m/s²] (n, 3) of each piece of each exercise."""
    found = np.load(folder / "seglearn" / "data" / "watch_dataset.npy", allow_pickle=True).item()
    size = round(PIECE_S * WATCH_HZ)
    for number, moved in enumerate(found["X"]):
        for start in range(0, len(moved) - size + 1, size):
            yield number, "exercises of the shoulder", G * moved[start : start + size, :3]


def basic(folder: Path) -> Iterator[tuple[int, str, Array]]:
    """Yield number, name and acceleration [m/s²] (100, 3) of each recording of BasicMotions."""
    data, number = folder / "aeon" / "datasets" / "data" / "BasicMotions", 0
    for name in ("BasicMotions_TRAIN.ts", "BasicMotions_TEST.ts"):
        lines = (data / name).read_text().splitlines()
        for line in lines[lines.index("@data") + 1 :]:
            *columns, word = line.split(":")
            axes = [[float(value) for value in column.split(",")] for column in columns[:3]]
            yield number, word.casefold(), np.array(axes).T
            number += 1


def as_log(axes: Array, rate_hz: float) -> bytes:
    """A recording as the file of a phone."""
    rows = np.column_stack([np.arange(len(axes)) / rate_hz, axes])
    lines = (",".join(f"{value:.6g}" for value in row) for row in rows)
    return "\n".join(["time (s),x (m/s^2),y (m/s^2),z (m/s^2)", *lines, ""]).encode()


def taken_for(axes: Array, rate_hz: float) -> str:
    """What a recording is taken for."""
    try:
        told = read_shake(parse_log(as_log(axes, rate_hz)))
    except RecordingError:
        return "refused"
    if told.run_up is not None:
        return "a run-up"
    if told.bounce_count is None:
        return "no ring-down"
    return "bounces, with a flag" if told.flags else "bounces, no flag"


def main() -> None:
    """Print a row for each kind of motion."""
    half = {"even": (0,), "odd": (1,)}.get(sys.argv[2] if len(sys.argv) > 2 else "", (0, 1))
    folder, rows = Path(sys.argv[1]), Counter[tuple[str, str]]()
    for pieces, rate_hz in ((watch(folder), WATCH_HZ), (basic(folder), BASIC_HZ)):
        for number, name, axes in pieces:
            if number % 2 not in half:
                continue
            rows[name, taken_for(axes, rate_hz)] += 1
    for name in sorted({name for name, _ in rows}):
        told = {word: count for (one, word), count in rows.items() if one == name}
        print(f"{name}: {sum(told.values())} logs, {told}", flush=True)


if __name__ == "__main__":
    main()
