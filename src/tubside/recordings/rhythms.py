"""The best on-and-off rhythm for frames that each speak for or against a lit lamp."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
SLOWEST_S = 4.0
FASTEST_S = 0.22
STEP_TURNS = 0.12
SWITCH_NATS = 7.0
CHUNK = 400_000


@dataclass(frozen=True, slots=True)
class Rhythm:
    """An even flash: nats gained over always dark, period and lit start in s, lit share."""

    gain: float
    period_s: float
    start_s: float
    duty: float

    def lit_at(self, t: Array) -> NDArray[np.bool_]:
        """Return whether it is lit at each time."""
        return np.asarray(((t - self.start_s) / self.period_s) % 1.0 < self.duty)

    def in_turn(self) -> Rhythm:
        """Return the rhythm of the same lit share half a period later."""
        return Rhythm(0.0, self.period_s, self.start_s + self.period_s / 2, self.duty)


def flash_rates(t: Array) -> Array:
    """Return the flash rates to try in Hz, close enough that no flash slips between two."""
    length = t[-1] - t[0]
    return np.arange(max(1 / SLOWEST_S, 1.3 / length), 1 / FASTEST_S, STEP_TURNS / length)


def runs_by_rate(t: Array, for_lit: Array, rates: Array) -> Array:
    """Return the nats of the best even flash at each rate, shape (series, rates).

    At a rate, frames are put in the order of their phase; the best flash is the run of that
    circle with the largest sum, found from running sums (a box search as for transits, exact
    in start and duty).

    Parameters
    ----------
    t : Array
        Frame times in s, shape (frames,).
    for_lit : Array
        Nats by which each frame speaks for lit against dark, shape (series, frames).
    rates : Array
        Flash rates in Hz.
    """
    found = []
    size = max(1, CHUNK // max(1, len(t) * len(for_lit)))
    for part in np.split(rates, np.arange(size, len(rates), size)):
        order = np.argsort((t * part[:, None]) % 1.0, axis=1)
        sums = np.cumsum(for_lit[:, order], axis=2)
        start = np.zeros((*sums.shape[:2], 1))
        low = np.minimum.accumulate(np.concatenate([start, sums[..., :-1]], axis=2), axis=2)
        high = np.maximum.accumulate(np.concatenate([start, sums[..., :-1]], axis=2), axis=2)
        inside, around = (sums - low).max(2), sums[..., -1] - (sums - high).min(2)
        found.append(np.maximum(inside, around))
    return np.concatenate(found, axis=1)


def best_run(values: Array) -> tuple[float, int, int]:
    """Return the largest sum of a run, its first place and the place after its last."""
    sums = np.concatenate([[0.0], np.cumsum(values)])
    low = np.minimum.accumulate(sums[:-1])
    last = int((sums[1:] - low).argmax())
    first = int(sums[: last + 1].argmin())
    return float(sums[last + 1] - sums[first]), first, last + 1


def run_at(t: Array, for_lit: Array, period: float) -> Rhythm:
    """Return the best even flash of one period, its edges midway between frames."""
    phase = (t / period) % 1.0
    order = np.argsort(phase)
    phase, nats = phase[order], for_lit[order]
    inside, first, last = best_run(nats)
    outside, dark_first, dark_last = best_run(-nats)
    edges = np.concatenate([[phase[-1] - 1.0], phase, [phase[0] + 1.0]])
    middles = (edges[:-1] + edges[1:]) / 2
    gain = float(nats.sum()) + outside
    if inside >= gain:
        wide = float(middles[last] - middles[first])
        return Rhythm(inside, period, float(middles[first] * period), wide)
    wide = 1.0 - float(middles[dark_last] - middles[dark_first])
    return Rhythm(gain, period, float(middles[dark_last] * period), wide)


def refined(t: Array, for_lit: Array, rate: float) -> Rhythm:
    """Return the even flash near a rate that gains most, ties averaged."""
    best = rate
    for width in (0.6, 0.15):
        rates = best + np.linspace(-width, width, 25) * STEP_TURNS / (t[-1] - t[0])
        gain = runs_by_rate(t, for_lit[None], rates)[0]
        best = float(rates[gain >= gain.max() - 0.3].mean())
    return run_at(t, for_lit, 1.0 / best)


def free_paths(for_lit: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Return gains and paths of the best free on-off sequences, each switch paid for.

    Parameters
    ----------
    for_lit : Array
        Nats for lit against dark, shape (series, frames).
    """
    count, frames = for_lit.shape
    turned = np.zeros((frames, count, 2), dtype=np.bool_)
    score = np.zeros((count, 2))
    for k in range(frames):
        other = score[:, ::-1] - SWITCH_NATS
        turned[k] = other > score
        score = np.maximum(score, other)
        score[:, 1] += for_lit[:, k]
    path = np.empty((count, frames), dtype=np.bool_)
    each = np.arange(count)
    state = score.argmax(1)
    for k in range(frames - 1, -1, -1):
        path[:, k] = state.astype(np.bool_)
        state = np.where(turned[k, each, state], 1 - state, state)
    return score.max(1), path


@dataclass(frozen=True, slots=True)
class Blinks:
    """Counts of the complete groups, and the time from one blink to the next in a group."""

    counts: tuple[int, ...] = ()
    period_s: float | None = None


def blink_counts(t: Array, path: NDArray[np.bool_]) -> Blinks:
    """Return the blinks of each complete group: one with a long gap before and after it.

    A group's count is its span over the time from blink to blink, so that a blink missed
    inside a group is counted. When a blink began that the clip cuts off is not known.

    Examples
    --------
    >>> t = np.arange(48) * 0.1
    >>> lit = np.array([0] * 8 + [1, 1, 0, 0] * 3 + [0] * 8 + [1, 1, 0, 0] * 2 + [0] * 12, bool)
    >>> blink_counts(t, lit).counts
    (3, 2)
    """
    edges = np.flatnonzero(np.diff(path.astype(np.int64))) + 1
    starts = t[edges[path[edges]]] if len(edges) else np.empty(0)
    stops = t[edges[~path[edges]]] if len(edges) else np.empty(0)
    if path[0]:
        starts = np.concatenate([[t[0]], starts])
    steps = np.diff(starts)
    whole = steps[1:] if path[0] else steps
    if len(whole) < 2 or whole.max() < 1.6 * whole.min():
        return Blinks()
    short = float(np.median(whole[whole < 1.6 * whole.min()]))
    breaks = np.flatnonzero(steps > 2.2 * short)
    groups = np.split(starts, breaks + 1)
    dark_before = (starts[0] - t[0]) > 1.4 * short and not path[0]
    dark_after = len(stops) > 0 and not path[-1] and (t[-1] - stops[-1]) > 1.4 * short
    kept = groups[0 if dark_before else 1 : len(groups) if dark_after else len(groups) - 1]
    return Blinks(tuple(round((g[-1] - g[0]) / short) + 1 for g in kept), short)
