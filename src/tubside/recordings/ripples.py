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
KNOTS = 7
DRIFT = 3


def lit_frames(level: Levelled, best: Explanation) -> NDArray[np.bool_]:
    """Return the frames in which each lamp is surely lit, those beside a switch left out."""
    inside = []
    for fit, lit, ok in zip(best.lamps, best.lit, level.seen, strict=True):
        path = fit.path if fit.flashing > fit.steady + SURELY_NATS else np.ones_like(ok)
        wide = np.pad(path, 1, mode="edge")
        inside.append(path & wide[:-2] & wide[2:] & ok & lit)
    return np.array(inside)


def off_clock(series: LampSeries) -> Array:
    """Return by how much each lamp is read off the even clock of the frames, (lamps, frames).

    Off a clock that is itself uneven, only what the hand's movement over the rows does.
    """
    if series.uneven:
        return np.asarray(series.read_s - series.times_s)
    turns = np.concatenate([[0.0], np.cumsum(np.round(np.diff(series.times_s) * series.rate_hz))])
    return np.asarray(series.read_s - np.polyval(np.polyfit(turns, series.times_s, 1), turns))


def unmoved(series: LampSeries, share: Array, frames: NDArray[np.bool_]) -> Array:
    """Return the ripple that neither drift nor reading off the clock explains, else nought.

    A moving hand and a jittering clock read lamps at other phases of the multiplex, also where
    the frames are locked to it. Their mean light by how far off the clock they were read,
    linear between quantiles, is taken out: light breaks off where a slot begins or ends. So is
    a cubic in time: a drift of locked frames, seen only while a lamp flashes, would show
    beside the rate of the flash.
    """
    found = np.zeros_like(share)
    t = np.linspace(-1.0, 1.0, share.shape[1])
    for out, y, off, ok in zip(found, share, off_clock(series), frames, strict=True):
        if ok.any():
            moved = off[ok]
            knots = np.quantile(moved, np.linspace(0.0, 1.0, KNOTS))
            terms = [t[ok] ** power for power in range(DRIFT + 1)]
            if float(np.ptp(moved)) > MOVED_S and (np.diff(knots) > 0.0).all():
                terms += [np.interp(moved, knots, unit) for unit in np.eye(KNOTS)[1:]]
            basis = np.array(terms).T
            out[ok] = y[ok] - basis @ np.linalg.lstsq(basis, y[ok], rcond=None)[0]
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
