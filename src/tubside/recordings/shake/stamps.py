"""Time stamps as phones write them: repeated, out of order, with gaps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
BURSTS = 0.2
"""From this share of repeated stamps on, they are taken for a coarse clock."""
GAP_STEPS, GAP_S = 4.0, 0.08


@dataclass(frozen=True, slots=True)
class Mended:
    """Rising times [s] from 0, the values at them, and what was mended, in words."""

    times_s: Array
    axes: Array
    notes: tuple[str, ...]


def mended(times_s: Array, axes: Array) -> Mended:
    """Put stamps in order, take repeated ones together or apart, and tell of gaps.

    Few repeated stamps are sent twice: their values are averaged. Many are a clock that
    ticks coarser than the sensor: their samples are spread evenly over the tick.
    """
    notes: list[str] = []
    backward = int((np.diff(times_s) < 0).sum())
    if backward:
        order = np.argsort(times_s, kind="stable")
        times_s, axes = times_s[order], axes[order]
        notes.append(f"{backward} stamps out of order, sorted")
    repeated = int((np.diff(times_s) == 0).sum())
    if repeated > BURSTS * len(times_s):
        times_s = _spread(times_s)
        notes.append(f"{repeated} repeated stamps, spread evenly over the ticks of the clock")
    elif repeated:
        times_s, axes = _averaged(times_s, axes)
        notes.append(f"{repeated} repeated stamps, averaged")
    steps = np.diff(times_s)
    usual = float(np.median(steps)) if len(steps) else 0.0
    gaps = steps[steps > max(GAP_STEPS * usual, GAP_S)]
    if len(gaps):
        notes.append(f"{len(gaps)} gaps, the longest {gaps.max():.2g} s")
    return Mended(times_s - times_s[0], axes, tuple(notes))


def _averaged(times_s: Array, axes: Array) -> tuple[Array, Array]:
    unique, place, count = np.unique(times_s, return_inverse=True, return_counts=True)
    total = np.zeros((len(unique), axes.shape[1]))
    np.add.at(total, place, axes)
    return unique, total / count[:, None]


def _spread(times_s: Array) -> Array:
    """Samples of one tick evenly over the time since the tick before."""
    ticks, place, count = np.unique(times_s, return_inverse=True, return_counts=True)
    usual = float(np.median(np.diff(ticks))) if len(ticks) > 1 else 0.0
    length = np.minimum(np.diff(ticks, prepend=ticks[0] - usual), 1.5 * usual)
    first = np.concatenate([[0], np.cumsum(count)[:-1]])
    turn = np.arange(len(times_s)) - first[place]
    late = (turn + 1.0) / count[place] - 1.0
    return np.asarray(ticks[place] + late * length[place])
