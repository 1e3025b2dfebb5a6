"""Whether a clip proves that lamps which stay dark would have been caught if lit.

On a multiplex locked to the frames some lamps are never caught; they look like unlit ones.
A dark lamp is off only where the light of the lit ones shows that the exposure has come past
every slot of the multiplex.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.beats import places, powers
from tubside.recordings.lamp_levels import Levelled
from tubside.recordings.lamp_model import Explanation, middle_light
from tubside.recordings.lamp_series import LampSeries
from tubside.recordings.strobing import BINS

Array = NDArray[np.float64]
FEWEST_TURNS = 4.0
WIDEST_GAP = 0.12
FEWEST_LIT = 16
CLIP = 0.4
PROVEN_NATS = 14.0


@dataclass(frozen=True, slots=True)
class Ripple:
    """The strongest regular ripple on lit lamps: its rate, and nats against chance."""

    rate_hz: float
    nats: float


def lit_frames(level: Levelled, best: Explanation) -> NDArray[np.bool_]:
    """Return the frames in which each lamp is surely lit, those beside a switch left out."""
    inside = []
    for fit, lit, ok in zip(best.lamps, best.lit, level.seen, strict=True):
        path = fit.path if fit.flashing > fit.steady else np.ones_like(ok)
        wide = np.pad(path, 1, mode="edge")
        inside.append(path & wide[:-2] & wide[2:] & ok & lit)
    return np.array(inside)


def ripple(series: LampSeries, level: Levelled, best: Explanation) -> Ripple:
    """Return the strongest ripple: under noise, a lamp's power at a rate is exponential.

    The sum over L lamps exceeds x by chance with P = e^-x Σ x^k/k!, k < L (the Gamma
    distribution of order L), at each of the rates tried.
    """
    frames = lit_frames(level, best)
    frames &= (frames.sum(1) >= FEWEST_LIT)[:, None]
    kept = frames.any(1)
    if not kept.any():
        return Ripple(0.0, 0.0)
    middle = middle_light(level)
    share = np.clip(np.where(frames, level.x / np.maximum(middle, 1e-6) - 1.0, 0.0), -1.0, CLIP)
    mean = share.sum(1) / np.maximum(frames.sum(1), 1)
    values = np.where(frames, share - mean[:, None], 0.0)
    rates, power = powers(series, values)
    total = power[kept].sum(0)
    if not series.uneven:
        total = np.where(rates * series.length_s >= FEWEST_TURNS, total, 0.0)
    at = int(total.argmax())
    x = max(float(total[at]), 1e-9)
    terms = np.cumsum(np.log(np.maximum(np.arange(int(kept.sum())), 1)))
    orders = np.arange(int(kept.sum()))
    chance = -x + np.logaddexp.reduce(orders * np.log(x) - terms)
    return Ripple(float(rates[at]), float(-(chance + np.log(len(rates)))))


def widest_gap(place: NDArray[np.int64], seen: NDArray[np.bool_]) -> float:
    """Return the widest stretch of phase, in turns, at which a lamp was never looked at."""
    there = np.unique(place[seen])
    if not len(there):
        return 1.0
    return float((np.diff(np.append(there, there[0] + BINS)) - 1).max()) / BINS


def proven(series: LampSeries, level: Levelled, best: Explanation) -> NDArray[np.bool_]:
    """Return for each lamp whether every slot of the multiplex was surely caught."""
    found = ripple(series, level, best)
    none = np.zeros(len(level.x), dtype=np.bool_)
    if found.nats < PROVEN_NATS:
        return none
    place = places(series, found.rate_hz)
    gaps = [widest_gap(row, ok) for row, ok in zip(place, level.seen, strict=True)]
    return np.array(gaps) < WIDEST_GAP
