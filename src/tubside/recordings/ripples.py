"""The ripple that strobing leaves on lit lamps."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.beats import powers
from tubside.recordings.lamp_fits import Explanation, middle_light
from tubside.recordings.lamp_levels import Levelled
from tubside.recordings.lamp_series import LampSeries

Array = NDArray[np.float64]
SURELY_NATS = 25.0
FEWEST_LIT = 16
CLIP = 0.4
MOVED_S = 1e-6


def lit_frames(level: Levelled, best: Explanation) -> NDArray[np.bool_]:
    """Return the frames in which each lamp is surely lit, those beside a switch left out."""
    inside = []
    for fit, lit, ok in zip(best.lamps, best.lit, level.seen, strict=True):
        path = fit.path if fit.flashing > fit.steady + SURELY_NATS else np.ones_like(ok)
        wide = np.pad(path, 1, mode="edge")
        inside.append(path & wide[:-2] & wide[2:] & ok & lit)
    return np.array(inside)


def unmoved(series: LampSeries, share: Array, frames: NDArray[np.bool_]) -> Array:
    """Return the ripple that a moving hand does not explain, nought in frames left out.

    A hand moves lamps to other rows, read at other phases of the multiplex, also where the
    frames are locked to it.
    """
    rows = series.read_s - series.times_s
    found = np.zeros_like(share)
    for out, y, row, ok in zip(found, share, rows, frames, strict=True):
        if ok.any():
            moved = row[ok] - row[ok].mean()
            size = max(float(np.abs(moved).max()), 1e-9)
            terms = np.vander(moved / size, 4 if size > MOVED_S else 1)
            out[ok] = y[ok] - terms @ np.linalg.lstsq(terms, y[ok], rcond=None)[0]
    return found


def ripples(series: LampSeries, level: Levelled, best: Explanation) -> tuple[Array, Array, int]:
    """Return rates, the summed power of the lit lamps' ripple at each, and how many lamps."""
    frames = lit_frames(level, best)
    frames &= (frames.sum(1) >= FEWEST_LIT)[:, None]
    kept = frames.any(1)
    middle = middle_light(level)
    share = np.clip(np.where(frames, level.x / np.maximum(middle, 1e-6) - 1.0, 0.0), -1.0, CLIP)
    rates, power = powers(series, unmoved(series, share, frames))
    return rates, np.asarray(power[kept].sum(0)), int(kept.sum())
