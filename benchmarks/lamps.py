"""How well lamps are read from simulated clips, beside two plain ways. All figures simulated."""

from __future__ import annotations

import sys
import time
from collections import defaultdict

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.lamp_series import LampSeries
from tubside.recordings.lamps_read import ReadLamp, read_lamps
from tubside.trial.lamps_on_camera import Box, FilmedPanel, TrueLamp, film

Array = NDArray[np.float64]
FIRST_SEED = 700_000
TRAP = (0.2, 4.5)


def series(panel: FilmedPanel) -> LampSeries:
    """Return what the reader is given of a filmed panel."""
    names = tuple(f"lamp-{k}" for k in range(len(panel.lamps)))
    return LampSeries(names, panel.times_s, panel.brightness, panel.row_s, panel.row_times_s)


def threshold(row: Array, frames: int = 1) -> str:
    """Return the plain answer: one threshold a frame, after a moving maximum over frames."""
    y = np.nan_to_num(row, nan=0.0)
    wide = np.lib.stride_tricks.sliding_window_view(np.pad(y, (0, frames - 1)), frames).max(1)
    lit = wide > max(0.25, wide.max() / 2)
    changes = int(np.abs(np.diff(lit.astype(int))).sum())
    return "flashing" if changes >= 3 else "steady" if lit.mean() > 0.5 else "off"


def kinds(panel: FilmedPanel) -> list[str]:
    """Return the rows of the table that a clip counts in."""
    shot = panel.shot
    rate = 1 / np.median(np.diff(shot.starts_s))
    beat = abs(shot.multiplex_hz - rate * round(shot.multiplex_hz / rate))
    glare = bool(np.isnan(panel.brightness).any())
    rows = ["all", "glare" if glare else "no glare"]
    if shot.seen_share >= 1.05:
        return [*rows, "camera integrates"]
    trap = TRAP[0] < beat < TRAP[1]
    return [*rows, "strobing", "- trap" if trap else "- frozen" if beat <= TRAP[0] else "- fast"]


Score = dict[str, float]


def score(lamp: ReadLamp, true: TrueLamp, row: Array, *, sampled: bool, rate: float) -> Score:
    """Return what one lamp adds to the counts."""
    right = lamp.state == true.state
    out: Score = {
        "lamps": 1,
        "answered": lamp.state != "unknown",
        "right": right,
        "naive": threshold(row) == true.state,
        "maximum": threshold(row, max(1, round(0.15 * rate))) == true.state,
        "false off": lamp.state == "off" and true.state != "off" and not sampled,
        "unsampled": true.state != "off" and not sampled,
    }
    if right and true.period_s is not None:
        out["periods"] = 1
        given = lamp.period_s if lamp.period_s is not None else 0.0
        out["within 2 %"] = abs(given / true.period_s - 1) < 0.02
    if right and true.count is not None:
        out["coded"] = 1
        out["counts exact"] = bool(lamp.counts) and set(lamp.counts) == {true.count}
    return out


def groups_right(panel: FilmedPanel, lamps: list[ReadLamp]) -> tuple[int, int]:
    """Return the pairs of evenly flashing lamps read as such, and those grouped rightly."""
    known = [
        (lamp.group, true.lit[0, 0])
        for lamp, true in zip(lamps, panel.lamps, strict=True)
        if lamp.state == "flashing" and true.period_s is not None
    ]
    pairs = [(a, b) for k, a in enumerate(known) for b in known[:k]]
    return len(pairs), sum((a[0] == b[0]) == (abs(a[1] - b[1]) < 1e-9) for a, b in pairs)


def table(clips: int, first: int = FIRST_SEED, box: Box | None = None) -> dict[str, Score]:
    """Return the counts by kind of clip."""
    sums: dict[str, Score] = defaultdict(lambda: defaultdict(float))
    for seed in range(first, first + clips):
        panel = film(np.random.default_rng(seed), box)
        given = series(panel)
        start = time.perf_counter()
        lamps = list(read_lamps([given]).lamps.values())
        spent = time.perf_counter() - start
        pairs, good = groups_right(panel, lamps)
        for kind in kinds(panel):
            row = sums[kind]
            row["seconds"] += spent
            row["video"] += given.length_s
            row["pairs"] += pairs
            row["pairs right"] += good
            for k, lamp in enumerate(lamps):
                counted = score(
                    lamp,
                    panel.lamps[k],
                    panel.brightness[k],
                    sampled=bool(panel.sampled[k]),
                    rate=given.rate_hz,
                )
                for name, value in counted.items():
                    row[name] += value
    return sums


def share(row: Score, part: str, whole: str) -> str:
    """Return a share, or a dash when there is nothing to share."""
    return f"{row[part] / row[whole]:.3f}" if row[whole] else "-"


def main() -> None:
    """Print the table; the argument is the number of clips."""
    clips = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    first = int(sys.argv[2]) if len(sys.argv) > 2 else FIRST_SEED
    frozen = len(sys.argv) > 3
    box = Box(exposure_s=(1 / 1500, 1 / 400), locked=True) if frozen else None
    print(
        "| simulated clips | lamps | naive | maximum | answered | right of answered "
        "| period within 2 % | counts exact | groups | false off / unsampled | s per s |"
    )
    print("|---|---|---|---|---|---|---|---|---|---|---|")
    for kind, row in table(clips, first, box).items():
        cells = [
            kind,
            f"{row['lamps']:.0f}",
            share(row, "naive", "lamps"),
            share(row, "maximum", "lamps"),
            share(row, "answered", "lamps"),
            share(row, "right", "answered"),
            share(row, "within 2 %", "periods"),
            share(row, "counts exact", "coded"),
            share(row, "pairs right", "pairs"),
            f"{row['false off']:.0f} / {row['unsampled']:.0f}",
            share(row, "seconds", "video"),
        ]
        print("| " + " | ".join(cells) + " |")


if __name__ == "__main__":
    main()
