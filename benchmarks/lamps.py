"""How well lamps are read from simulated clips, beside two plain ways. All figures simulated.

``lamps.py TABLE CLIPS SEED`` prints one table: ``kinds`` (and how far the likelihoods stated
hold), ``hidden``, ``twice`` or ``boxes``.
"""

from __future__ import annotations

import sys
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.lamp_series import LampSeries
from tubside.recordings.lamps_read import STATES, ReadLamp, ReadPanel, read_lamps
from tubside.trial.lamps_on_camera import (
    Box,
    FilmedPanel,
    TrueLamp,
    beat_of,
    film,
    film_twice,
    light,
)

Array = NDArray[np.float64]
Score = dict[str, float]
TRAP = (0.2, 4.5)
LOST_NATS = 12.0
SHORT = (1 / 1500, 1 / 150)
FROZEN = Box(exposure_s=(1 / 1500, 1 / 400), locked=True, uneven=0.0)
LOCKED = Box(
    exposure_s=(1 / 1500, 1 / 400), multiplex_hz=(60.0, 400.0), flash_locked=True, uneven=0.0
)
BOXES = {
    "23.976, 29.97, 50 and 120 frames a second": Box(rates=(23.976, 29.97, 50.0, 120.0)),
    "slots of 1/3, 1/5 and 1/12": Box(shares=(1 / 3, 1 / 5, 1 / 12)),
    "two multiplex groups on one panel": Box(groups=2),
    "slots with soft edges": Box(soft=0.6),
    "variable frame rate": Box(uneven=1.0),
    "lamps moving over the rows by up to 2 ms": Box(shake_s=2e-3),
    "a step of the exposure in every clip": Box(dimmed=1.0),
}


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
    beat = beat_of(shot)
    glare = bool(np.isnan(panel.brightness).any())
    rows = ["all", "glare" if glare else "no glare"]
    if shot.seen_share >= 1.05:
        return [*rows, "camera integrates"]
    trap = TRAP[0] < beat < TRAP[1]
    return [*rows, "strobing", "- trap" if trap else "- frozen" if beat <= TRAP[0] else "- fast"]


def whole_group(true: TrueLamp, times_s: Array) -> bool:
    """Return whether a clip holds a whole group of blinks with the gaps on both sides."""
    assert true.count is not None
    firsts, lasts = true.lit[:: true.count, 0], true.lit[true.count - 1 :: true.count, 1]
    pairs = zip(lasts[:-2], firsts[2:], strict=False)
    return any(a >= times_s[0] - 0.2 and b <= times_s[-1] + 0.2 for a, b in pairs)


def score(lamp: ReadLamp, true: TrueLamp, panel: FilmedPanel, k: int) -> Score:
    """Return what one lamp adds to the counts."""
    right, row = lamp.state == true.state, panel.brightness[k]
    rate = 1 / float(np.median(np.diff(panel.times_s)))
    never = true.state != "off" and not panel.sampled[k]
    out: Score = {
        "lamps": 1,
        "answered": lamp.state != "unknown",
        "right": right,
        "wrong": not right and lamp.state != "unknown",
        "naive": threshold(row) == true.state,
        "maximum": threshold(row, max(1, round(0.15 * rate))) == true.state,
        "never": never,
        "false off": lamp.state == "off" and never,
        "off said": lamp.state == "off" and true.state != "off",
    }
    if right and true.period_s is not None:
        out["periods"] = 1
        out["period right"] = abs((lamp.period_s or 0.0) / true.period_s - 1) < 0.02
    if right and true.count is not None:
        out["whole"] = whole_group(true, panel.times_s)
        out["counted"] = bool(lamp.counts)
        out["counts right"] = bool(lamp.counts) and set(lamp.counts) == {true.count}
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


def ripple_nats(panel: FilmedPanel) -> float:
    """Return how far the truth's ripple on lit lamps stands out of the noise, in nats.

    Half the sum of squares of the light without noise, less its mean over the frames in which
    the lamp is lit all through the exposure, over the noise's variance: no reader can gain
    more, even one that knows rate and shape. Some 250 rates tried alone cost 5.5 nats.
    """
    shot, total = panel.shot, 0.0
    exposures = np.full(len(shot.starts_s), shot.exposure_s)
    ends = shot.starts_s + (exposures if shot.exposures_s is None else shot.exposures_s)
    for k, lamp in enumerate(panel.lamps):
        if not len(lamp.lit):
            continue
        opens = shot.starts_s + panel.row_times_s[k] - shot.crossing_s
        closes = ends + panel.row_times_s[k] + shot.crossing_s
        span = np.maximum(np.searchsorted(lamp.lit[:, 0], opens, side="right") - 1, 0)
        whole = (lamp.lit[span, 0] <= opens) & (lamp.lit[span, 1] >= closes)
        whole &= np.isfinite(panel.brightness[k])
        if whole.any():
            caught = light(shot, lamp, panel.row_times_s[k])[whole]
            seen = np.minimum(caught / shot.share * lamp.level, 4.5)
            noise = 0.015**2 + 0.0015 * seen
            total += float(((seen - seen.mean()) ** 2 / (2 * noise)).sum())
    return total


def filmed(clips: int, first: int, box: Box) -> Iterator[tuple[FilmedPanel, ReadPanel, float]]:
    """Yield clips, what was read of them, and the processor time it took in s."""
    for seed in range(first, first + clips):
        panel = film(np.random.default_rng(seed), box)
        start = time.process_time()
        read = read_lamps([series(panel)])
        yield panel, read, time.process_time() - start


def table(
    clips: int, first: int, box: Box, rows: Callable[[FilmedPanel], list[str]]
) -> list[tuple[ReadLamp, str]]:
    """Print the counts by kind of clip; return what was read of each lamp, and the truth."""
    sums: dict[str, Score] = defaultdict(lambda: defaultdict(float))
    read_true: list[tuple[ReadLamp, str]] = []
    for panel, read, spent in filmed(clips, first, box):
        lamps = list(read.lamps.values())
        read_true += [(a, b.state) for a, b in zip(lamps, panel.lamps, strict=True)]
        pairs, good = groups_right(panel, lamps)
        lost = ripple_nats(panel) < LOST_NATS
        for kind in rows(panel):
            row = sums[kind]
            row["clips"] += 1
            row["seconds"] += spent
            row["video"] += float(panel.times_s[-1] - panel.times_s[0])
            row["pairs"] += pairs
            row["pairs right"] += good
            for k, lamp in enumerate(lamps):
                for name, value in score(lamp, panel.lamps[k], panel, k).items():
                    row[name] += value
                open_off = lamp.state == "unknown" and panel.lamps[k].state == "off"
                row["open off"] += open_off
                row["lost"] += open_off and lost
    for kind, row in sums.items():
        print_row(kind, row)
    return read_true


COLUMNS = {
    "naive": ("naive", "lamps"),
    "maximum": ("maximum", "lamps"),
    "answered": ("answered", "lamps"),
    "right of answered": ("right", "answered"),
    "period within 2 %": ("period right", "periods"),
    "counts given": ("counted", "whole"),
    "exact of given": ("counts right", "counted"),
    "pairs grouped": ("pairs right", "pairs"),
    "s per s": ("seconds", "video"),
    "unlit left open": ("open off", "lamps"),
    "of these lost in noise": ("lost", "open off"),
}


def print_head() -> None:
    """Print the head of the table of scores."""
    names = ["simulated clips", "clips", "lamps", *COLUMNS, "wrong", "off said of never sampled"]
    print("| " + " | ".join(names) + " |\n" + "|---" * len(names) + "|")


def print_row(kind: str, row: Score) -> None:
    """Print one row of the table of scores."""
    cells = [kind, f"{row['clips']:.0f}", f"{row['lamps']:.0f}"]
    for part, whole in COLUMNS.values():
        cells.append(f"{row[part] / row[whole]:.3f}" if row[whole] else "-")
    cells += [f"{row['wrong']:.0f}", f"{row['false off']:.0f} of {row['never']:.0f}"]
    print("| " + " | ".join(cells) + " |", flush=True)


def by_kind(clips: int, first: int) -> None:
    """Print the main table."""
    print_head()
    stated(table(clips, first, Box(), kinds))


def hidden(clips: int, first: int) -> None:
    """Print what is said of lamps in clips made to hide them."""
    print_head()
    table(clips, first, FROZEN, lambda _: ["multiplex locked to the frames"])
    table(clips, first, LOCKED, lambda _: ["flash locked to the beat"])


def boxes(clips: int, first: int) -> None:
    """Print the table of clips made in ways not tuned on."""
    print_head()
    for name, box in BOXES.items():
        table(clips, first, box, lambda _, name=name: [name])  # type: ignore[misc]  # bound now


def stated(read_true: list[tuple[ReadLamp, str]]) -> None:
    """Print how often a state is true that was given a likelihood.

    Lamps are weighed so that the three states are equally common, as a flat prior has it.
    """
    shares = {state: np.mean([true == state for _, true in read_true]) for state in STATES}
    given = np.array(
        [
            (lamp.probability[state], state == true, 1 / (3 * shares[true]))
            for lamp, true in read_true
            for state in STATES
        ]
    )
    print("| likelihood stated | how many | mean stated | true |\n|---|---|---|---|")
    edges = (0.0, 0.01, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 0.99, 1.01)
    for low, high in pairwise(edges):
        part = given[(given[:, 0] >= low) & (given[:, 0] < high)]
        if len(part):
            mean, true = np.average(part[:, :2], axis=0, weights=part[:, 2])
            print(f"| {low:g} to {min(high, 1):g} | {len(part)} | {mean:.4f} | {true:.4f} |")


def twice(clips: int, first: int) -> None:
    """Print what a second clip at another frame rate adds."""
    print("| clips of | read from | lamps | answered | right of answered | wrong |")
    print("|---|---|---|---|---|---|")
    frozen = Box(exposure_s=(1 / 1500, 1 / 400), locked=True)
    for name, box in (("short exposures", Box(exposure_s=SHORT)), ("locked at 30", frozen)):
        for rates in ((30.0, 60.0), (30.0, 24.0)):
            sums: dict[str, Score] = defaultdict(lambda: defaultdict(float))
            for seed in range(first, first + clips):
                films = film_twice(np.random.default_rng(seed), box, rates)
                both = [series(panel) for panel in films]
                for way, given in (("one", both[:1]), ("two", both)):
                    lamps = read_lamps(given).lamps.values()
                    for k, lamp in enumerate(lamps):
                        for part, value in score(lamp, films[0].lamps[k], films[0], k).items():
                            sums[way][part] += value
            for way, row in sums.items():
                label = f"{rates[0]:g}" if way == "one" else f"{rates[0]:g} and {rates[1]:g}"
                answered = row["answered"] / row["lamps"]
                print(
                    f"| {name} | {label} | {row['lamps']:.0f} | {answered:.3f}"
                    f" | {row['right'] / row['answered']:.3f} | {row['wrong']:.0f} |",
                    flush=True,
                )


TABLES = {"kinds": by_kind, "hidden": hidden, "twice": twice, "boxes": boxes}


def main() -> None:
    """Print the table that the arguments name."""
    TABLES[sys.argv[1]](int(sys.argv[2]), int(sys.argv[3]))


if __name__ == "__main__":
    main()
