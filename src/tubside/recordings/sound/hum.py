"""The mains' hum: lines that stand all along, and are no message."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tubside.recordings.sound.partials import Array, Partial, Picture

MAINS_HZ = (50.0, 60.0)
HUM_TO_HZ = 1000.0
SWINGS = 15.0
LOUDER = 6.0
HUM_LASTS_S = 3.0
"""In less, a beep could stand most of the time."""


def without_hum(seen: Picture, found: Sequence[Partial]) -> list[Partial]:
    """Return the partials that are no hum, and of hum the part in which more sounds over it."""
    kept = []
    for one in found:
        if not is_hum(seen, one):
            kept.append(one)
            continue
        loud = one.power > LOUDER * np.median(level_at(seen, one.pitch_hz))
        edges = np.flatnonzero(np.diff(np.concatenate([[0], loud.astype(int), [0]])))
        runs = edges.reshape(-1, 2).tolist()
        if runs:
            first, last = max(runs, key=lambda run: run[1] - run[0])
            cut = slice(first, last)
            kept.append(Partial(one.frames[cut], one.hz[cut], one.power[cut], one.floor[cut]))
    return kept


def is_hum(seen: Picture, one: Partial) -> bool:
    """Return whether a partial is a multiple of twice the mains and stands all along.

    What lasted a short time has its frequency the less surely. A short one that is much louder
    than its line mostly is has something else sounding over the hum.
    Mains keep their frequency within a few tenths of a per cent nearly always (EN 50160,
    clause 4.2.1, allows 1 % for 99.5 % of a year; from memory).
    """
    hz, lasts_s = one.pitch_hz, len(one.frames) * seen.hop_s
    if hz > HUM_TO_HZ or seen.times_s[-1] < HUM_LASTS_S:
        return False
    if np.median(one.power) > LOUDER * np.median(level_at(seen, hz)):
        return False
    slack = 0.8 + 0.0015 * hz + 0.25 / lasts_s
    near = (2 * mains * round(hz / (2 * mains)) for mains in MAINS_HZ)
    return any(abs(hz - line) < slack and standing(seen, line) > 0.55 for line in near)


def standing(seen: Picture, hz: float) -> float:
    """Return the share of the time in which a line stands out, in the poorest quarter [1].

    Nought for what swings so widely that it must go on and off.
    """
    row = round(hz / seen.bin_hz)
    level = level_at(seen, hz)
    high, low = np.quantile(level, [0.9, 0.2])
    if high > SWINGS * low:
        return 0.0
    out = level > 2 * seen.floor[row]
    return float(min(part.mean() for part in np.array_split(out, 4)))


def level_at(seen: Picture, hz: float) -> Array:
    """Return the power at a frequency through time: (T,)."""
    row = round(hz / seen.bin_hz)
    return np.asarray(seen.power[max(0, row - 1) : row + 2].max(axis=0))
