"""Spin speed through time: the likeliest course of speeds, its interval, its run-up."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.sound.even_speed import even_speed
from tubside.recordings.sound.orders import (
    HOP_S,
    RATE_HZ,
    STEP,
    Evidence,
    evidence,
    without_mains,
)
from tubside.recordings.sound.track import Track

Array = NDArray[np.float64]

REACH = 40
"""Steps of speed that may lie between two pieces: 6 % in half a second."""
LOOSE = 0.006
"""Spread of what a slope leaves open between two pieces [1] (common practice, no source)."""
FEWEST_NATS = 8.0
"""Of evidence of a piece, below which no drum is heard in it."""
MOSTLY = 0.7
"""Share of pieces in which it must be heard for a course to be told."""
FEWEST_EVEN, FEWEST_ALONE = 16.0, 20.0
"""Of evidence of a steady stretch, with and without a course that agrees; of simulated sounds
without a drum, music apart, 77 gave 16 at most."""
CHANGES = 0.06
EVEN = 0.008
"""Relative change of speed within a second up to which a drum counts as steady."""
STEADY_S = 2.0


@dataclass(frozen=True, slots=True)
class Course:
    """Speed [rpm] at times [s], and nats of each piece: (T,)."""

    times_s: Array
    rpm: Array
    nats: Array


@dataclass(frozen=True, slots=True)
class RunUp:
    """A rise of speed: from and to [rpm], and from when to when [s]."""

    from_rpm: float
    to_rpm: float
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class Spin:
    """Spin speed [rpm] while it was steady, its 90 % interval, and the course of it."""

    rpm: float | None
    interval: tuple[float, float] | None
    probability: float
    other_rpm: float | None
    steady_s: tuple[float, float] | None
    run_up: RunUp | None
    course: Course | None


def best_path(nats: Array, slopes: Array) -> NDArray[np.int64]:
    """Return the speeds (T,), as numbers of columns, that have most evidence together.

    Viterbi (Forney, *The Viterbi algorithm*, Proc. IEEE 61(3), 1973): from one piece to the
    next the logarithm of the speed goes on by slope times time, and by a normal rest.
    """
    rows, width = nats.shape
    total = nats[0]
    back = np.zeros((rows, width), np.int64)
    index = np.arange(width)
    for row in range(1, rows):
        best = np.full(width, -np.inf)
        for move in range(-REACH, REACH + 1):
            source = index - move
            inside = (source >= 0) & (source < width)
            at = source[inside]
            expected = (slopes[row - 1, at] + slopes[row, inside]) / 2 * HOP_S
            off = (move * STEP - expected) / LOOSE
            value = total[at] - off**2 / 2
            here = best[inside]
            better = value > here
            best[np.flatnonzero(inside)[better]] = value[better]
            back[row, np.flatnonzero(inside)[better]] = at[better]
        total = best + nats[row]
    path = np.empty(rows, np.int64)
    path[-1] = int(total.argmax())
    for row in range(rows - 1, 0, -1):
        path[row - 1] = back[row, path[row]]
    return path


def course(found: Evidence) -> Course:
    """Return the likeliest course of speeds."""
    middle = best_path(found.nats, found.slopes)
    rows = np.arange(len(middle))
    turns = np.array([_top(found, row, int(at)) for row, at in enumerate(middle)])
    return Course(found.times_s, 60 * turns, found.nats[rows, middle])


def _top(found: Evidence, row: int, at: int) -> float:
    """Return the speed at a top of the evidence: the mean of the speeds around, by likelihood."""
    near = slice(max(0, at - 3), at + 4)
    weight = np.exp((found.nats[row, near] - found.nats[row, near].max()) / 2)
    return float(np.average(found.turns_hz[near], weights=weight))


def steady_stretch(rpm: Array) -> slice | None:
    """Return the longest stretch in which the speed stays: at least two seconds of it.

    >>> steady_stretch(np.array([400.0, 500, 600, 700, 700, 701, 700, 700, 701]))
    slice(3, 9, None)
    """
    step = np.abs(np.diff(np.log(rpm))) / HOP_S
    even = np.concatenate([[0], (step < EVEN).astype(int), [0]])
    edges = np.flatnonzero(np.diff(even)).reshape(-1, 2)
    if not len(edges):
        return None
    first, last = max(edges.tolist(), key=lambda pair: pair[1] - pair[0])
    return slice(first, last + 1) if (last - first) * HOP_S >= STEADY_S else None


def rise(times_s: Array, rpm: Array) -> RunUp | None:
    """Return the run-up in a course: where the speed rises by a tenth or more."""
    low = int(rpm.argmin())
    top = low + int(rpm[low:].argmax())
    if rpm[top] < 1.1 * rpm[low]:
        return None
    inside = rpm[low : top + 1]
    span = rpm[top] - rpm[low]
    first = low + int(np.flatnonzero(inside > rpm[low] + 0.03 * span)[0])
    last = low + int(np.flatnonzero(inside > rpm[top] - 0.03 * span)[0])
    return RunUp(float(rpm[low]), float(rpm[top]), float(times_s[first]), float(times_s[last]))


def read_spin(track: Track) -> Spin:
    """Return the spin speed of a recording, or none where no drum is heard.

    Where the course of speeds changes, the speed is that of its longest steady stretch, else
    that of the whole.
    """
    samples, mains = without_mains(track)
    told = heard(course(evidence(samples, mains)))
    rises = None if told is None else rise(told.times_s, told.rpm)
    where = None if told is None else steady_stretch(told.rpm)
    changes = told is not None and told.rpm.max() > (1 + CHANGES) * told.rpm.min()
    if not changes:
        found, stay = even_speed(samples, mains), (0.0, len(samples) / RATE_HZ)
    elif told is not None and where is not None:
        first, last = told.times_s[where][0], told.times_s[where][-1]
        stay = (float(first), float(last))
        part = samples[int(first * RATE_HZ) : int(last * RATE_HZ)]
        found = even_speed(part, mains, float(np.median(told.rpm[where])) / 60)
    else:
        return Spin(None, None, 0.0, None, None, rises, told)
    if found.nats < (FEWEST_ALONE if told is None else FEWEST_EVEN):
        return Spin(None, None, 0.0, None, None, None, None)
    return Spin(
        60 * found.turns_hz,
        (60 * found.interval[0], 60 * found.interval[1]),
        found.probability,
        60 * found.other_hz if found.probability < 0.99 else None,
        stay,
        rises,
        told,
    )


def heard(told: Course) -> Course | None:
    """Return the pieces of a course in which the drum is heard, or none where these are few."""
    kept = told.nats >= FEWEST_NATS
    if kept.mean() < MOSTLY or kept.sum() < 3:
        return None
    return replace(told, times_s=told.times_s[kept], rpm=told.rpm[kept], nats=told.nats[kept])
