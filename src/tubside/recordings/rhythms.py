"""The best on-and-off rhythm for frames that each speak for or against a lit lamp."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
BINS = 32
SLOWEST_S = 4.0
FASTEST_S = 0.22
DUTIES = (0.2, 0.8)
SWITCH_NATS = 7.0


@dataclass(frozen=True, slots=True)
class Rhythm:
    """An even flash: nats gained over always dark, period and lit start in s, lit share."""

    gain: float
    period_s: float
    start_s: float
    duty: float


def in_box(t: Array, period: Array, start: Array, duty: Array) -> NDArray[np.bool_]:
    """Return in which frames a flash is lit, shape (rhythms, frames)."""
    return np.asarray(((t - start[:, None]) / period[:, None]) % 1.0 < duty[:, None])


def even_flash(t: Array, for_lit: Array) -> Rhythm:
    """Return the even flash that gains most.

    Every period is tried by folding the frames on it (a box search as for transits), then
    the best one is refined on the true frame times.

    Parameters
    ----------
    t : Array
        Frame times in s, shape (frames,).
    for_lit : Array
        Nats by which each frame speaks for lit against dark, shape (frames,).
    """
    length = t[-1] - t[0]
    rates = np.arange(max(1 / SLOWEST_S, 1.5 / length), 1 / FASTEST_S, 0.12 / length)
    bins = np.floor((t * rates[:, None]) % 1.0 * BINS).astype(np.int64)
    flat = (bins + np.arange(len(rates))[:, None] * BINS).ravel()
    folded = np.bincount(flat, np.tile(for_lit, len(rates)), len(rates) * BINS)
    folded = folded.reshape(len(rates), BINS)
    sums = np.cumsum(np.pad(np.hstack([folded, folded]), ((0, 0), (1, 0))), axis=1)
    widths = np.arange(int(DUTIES[0] * BINS), int(DUTIES[1] * BINS) + 1)
    gains = np.stack([sums[:, w : w + BINS] - sums[:, :BINS] for w in widths], axis=2)
    tops = np.argsort(gains.max((1, 2)))[-3:]
    found = []
    for top in tops:
        start, wide = np.unravel_index(gains[top].argmax(), gains[top].shape)
        period = float(1 / rates[top])
        found.append(
            refined(t, for_lit, period, float(start) / BINS * period, float(widths[wide]) / BINS)
        )
    return max(found, key=lambda rhythm: rhythm.gain)


def refined(t: Array, for_lit: Array, period: float, start: float, duty: float) -> Rhythm:
    """Return the rhythm near a given one that gains most on the true frame times."""
    span = period**2 / (t[-1] - t[0])
    middle = t.mean()
    shift = np.floor((middle - start) / period) * period
    best = Rhythm(-np.inf, period, start + shift, duty)
    for width in (1.0, 0.3):
        grid = np.meshgrid(
            np.linspace(-0.12, 0.12, 9) * width * span + best.period_s,
            np.linspace(-0.06, 0.06, 9) * width * period + best.start_s,
            np.linspace(-0.08, 0.08, 9) * width + best.duty,
        )
        p, s, d = (axis.ravel() for axis in grid)
        gain = in_box(t, p, s, d) @ for_lit
        ties = gain >= gain.max() - 1e-9
        best = Rhythm(
            float(gain.max()), float(p[ties].mean()), float(s[ties].mean()), float(d[ties].mean())
        )
    return best


def free_path(for_lit: Array) -> tuple[float, NDArray[np.bool_]]:
    """Return the gain and path of the best free on-off sequence, each switch paid for."""
    ways = np.zeros((len(for_lit), 2), dtype=np.int64)
    score = np.zeros(2)
    for k, nats in enumerate(for_lit):
        other = score[::-1] - SWITCH_NATS
        ways[k] = np.where(other > score, [1, 0], [0, 1])
        score = np.maximum(score, other) + np.array([0.0, nats])
    path = np.empty(len(for_lit), dtype=np.bool_)
    state = int(score.argmax())
    for k in range(len(for_lit) - 1, -1, -1):
        path[k] = bool(state)
        state = int(ways[k, state])
    return float(score.max()), path


def blink_counts(t: Array, path: NDArray[np.bool_]) -> tuple[int, ...]:
    """Return the blinks of each complete group: one with a long gap before and after it.

    Examples
    --------
    >>> t = np.arange(40) * 0.1
    >>> lit = np.array([0] * 8 + [1, 1, 0, 0] * 3 + [0] * 8 + [1, 1, 0, 0] * 2 + [0] * 4, bool)
    >>> blink_counts(t, lit[:40])
    (3, 2)
    """
    edges = np.flatnonzero(np.diff(path.astype(np.int64))) + 1
    runs = np.split(np.arange(len(t)), edges)
    ends = np.append(t, t[-1] + np.median(np.diff(t)))
    spans = [(bool(path[run[0]]), float(ends[run[-1] + 1] - t[run[0]])) for run in runs]
    dark = sorted(span for lit, span in spans[1:-1] if not lit)
    if not dark or not spans:
        return ()
    long = 1.8 * dark[0]
    counts: list[int] = []
    blinks: int | None = None
    for lit, span in spans:
        if lit:
            blinks = None if blinks is None else blinks + 1
        elif span > long:
            counts += [blinks] if blinks else []
            blinks = 0
    return tuple(counts)
