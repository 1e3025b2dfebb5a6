"""The best regular groups of blinks for frames that each speak for or against a lit lamp."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
BINS = 112
SHORTEST_S = 0.22
LONGEST_S = 1.2
FINER = 1.1
MOST = 9
LEAST_GAP = 1.3
LEAST_GROUPS = 1.4
STEP_TURNS = 0.04
DUTIES = (0.2, 0.8)


@dataclass(frozen=True, slots=True)
class Groups:
    """Groups of ``count`` blinks: nats gained over always dark, times in s, lit share of a blink.

    A blink begins every ``blink_s`` within a group, a group every ``group_s``.
    """

    gain: float
    count: int
    blink_s: float
    duty: float
    group_s: float
    start_s: float

    def lit_at(self, t: Array) -> NDArray[np.bool_]:
        """Return whether the lamp is lit at each time.

        Examples
        --------
        >>> two = Groups(0.0, 2, 0.4, 0.5, 2.0, 0.0)
        >>> two.lit_at(np.array([0.1, 0.3, 0.5, 0.7, 0.9, 2.1])).tolist()
        [True, False, True, False, False, True]
        """
        shape = np.array([[self.blink_s, self.duty, self.group_s, self.start_s]])
        return np.asarray(lit_by(t, self.count, shape)[0])


def lit_by(t: Array, count: int, shapes: Array) -> NDArray[np.bool_]:
    """Return whether lamps are lit by frame, shape (shapes, frames).

    ``shapes`` are rows of time from blink to blink, lit share, time from group to group, start.
    """
    blink, duty, group, start = (column[:, None] for column in shapes.T)
    within = (t - start) % group
    number = np.floor(within / blink)
    return np.asarray((number < count) & (within - number * blink < duty * blink))


def group_times(length_s: float) -> Array:
    """Return the times from group to group to try, so close that no blink slips between two."""
    slowest, fastest = LEAST_GROUPS / length_s, 1.0 / ((2.0 + LEAST_GAP - 1.0) * SHORTEST_S)
    return np.asarray(1.0 / np.arange(slowest, fastest, STEP_TURNS / length_s))


def folded(t: Array, for_lit: Array, groups: Array) -> Array:
    """Return running sums of nats by phase within a group, two turns, (groups, 2 BINS + 1)."""
    at = np.floor((t / groups[:, None]) % 1.0 * BINS).astype(np.int64) % BINS
    flat = (at + np.arange(len(groups))[:, None] * BINS).ravel()
    sums = np.bincount(flat, np.tile(for_lit, len(groups)), len(groups) * BINS)
    turns = np.tile(sums.reshape(-1, BINS), 2)
    return np.concatenate([np.zeros((len(groups), 1)), np.cumsum(turns, axis=1)], axis=1)


def coarse(t: Array, for_lit: Array) -> tuple[float, int, Array]:
    """Return nats, count and shape of the best groups on a grid, blinks lit half the time."""
    groups = group_times(float(t[-1] - t[0]))
    sums = folded(t, for_lit, groups)
    starts = np.arange(BINS)
    best: tuple[float, int, Array] = (0.0, 0, np.zeros(4))
    tried = np.arange(np.log(SHORTEST_S), np.log(LONGEST_S), np.log(FINER))
    for blink in np.exp(tried):
        wide = blink / groups * BINS
        half = np.maximum(np.round(wide / 2).astype(np.int64), 1)
        lit = np.take_along_axis(sums, starts + np.minimum(half, BINS)[:, None], 1) - sums[:, :BINS]
        total = lit.copy()
        for count in range(2, MOST + 1):
            room = (count - 1 + LEAST_GAP) * blink < groups
            if not room.any():
                break
            later = (starts + np.round((count - 1) * wide).astype(np.int64)[:, None]) % BINS
            total += np.take_along_axis(lit, later, 1)
            most = np.where(room, total.max(1), 0.0)
            k = int(most.argmax())
            if most[k] > best[0]:
                start = total[k].argmax() / BINS * groups[k]
                best = (float(most[k]), count, np.array([blink, 0.5, groups[k], start]))
    return best


def best_groups(t: Array, for_lit: Array) -> Groups | None:
    """Return the groups of blinks that gain most, None where none gain anything.

    Found on a grid (exact sums over each fold), then refined one number at a time.

    Parameters
    ----------
    t : Array
        Frame times in s, shape (frames,).
    for_lit : Array
        Nats by which each frame speaks for lit against dark, shape (frames,).

    Examples
    --------
    >>> t = np.arange(240) / 30.0
    >>> true = Groups(0.0, 3, 0.5, 0.5, 2.6, 0.3).lit_at(t)
    >>> found = best_groups(t, np.where(true, 4.0, -4.0))
    >>> found.count, round(found.blink_s, 1), round(found.group_s, 1)
    (3, 0.5, 2.6)
    """
    gain, count, shape = coarse(t, for_lit)
    if count == 0:
        return None
    length = float(t[-1] - t[0])
    reach = np.array(
        [0.04 * shape[0], 0.15, 0.5 * STEP_TURNS / length * shape[2] ** 2, 0.2 * shape[0]]
    )
    gain = float(for_lit[lit_by(t, count, shape[None])[0]].sum())
    for _ in range(4):
        for number in (3, 2, 0, 1, 3):
            tried = np.repeat(shape[None], 17, axis=0)
            tried[:, number] += np.linspace(-reach[number], reach[number], 17)
            fair = (tried[:, 1] >= DUTIES[0]) & (tried[:, 1] <= DUTIES[1])
            gains = np.where(fair, lit_by(t, count, tried) @ for_lit, -np.inf)
            top = gains >= gains.max() - 0.3
            shape, gain = tried[top].mean(0), float(gains.max())
        reach = reach * 0.6
    gain = float(for_lit[lit_by(t, count, shape[None])[0]].sum())
    return Groups(gain, count, *(float(number) for number in shape))
