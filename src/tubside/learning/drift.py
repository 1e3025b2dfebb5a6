r"""How soon a one-sided cumulative sum alarms, with and without cause, where the mean is known.

S_0 = 0, S_t = max(0, S_{t-1} + x_t - k), and an alarm when S_t >= h. For counts that are Poisson
with mean m, and to be told from mean r m, Lucas's reference value is k = (r - 1) m / ln r
(Lucas, Technometrics 27 (1985), pp. 129-144, equation (2); from memory).

How long it runs without cause before it alarms (in-control average run length) follows from
the chain of S over a grid: L = 1 + Q L, with Q the moves that do not alarm. It is exact for
counts where k and h lie on the grid; for other variables the grid approximates (Brook & Evans,
Biometrika 59 (1972), pp. 539-549).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, log

import numpy as np
import numpy.typing as npt

from tubside.errors import HistoryError

Floats = npt.NDArray[np.float64]
FINENESS = 4
"""Grid steps per count: k and h are rounded to quarters."""
HIGHEST = 400


@dataclass(frozen=True, slots=True)
class Watch:
    """A cumulative sum: reference k, limit h, and its average run length without cause."""

    reference: float
    limit: float
    run_length: float


@dataclass(frozen=True, slots=True)
class Watched:
    """What the sum did over some periods: its course, and the first period of alarm."""

    course: tuple[float, ...]
    alarm: int | None
    since: int | None
    """The period from which on the sum rose to its alarm."""


def watch(mean: float, ratio: float = 2.0, run_length: float = 240.0) -> Watch:
    """The least limit at which a Poisson count of this mean runs so long without cause.

    Parameters
    ----------
    mean : float
        Expected count a period, above nought.
    ratio : float
        How many times the mean is to be found quickly, above one.
    run_length : float
        Periods between false alarms, on average, at least.

    Examples
    --------
    >>> one = watch(2.0, ratio=2.0, run_length=240.0)
    >>> one.reference, one.limit, one.run_length > 240
    (3.0, 5.25, True)
    """
    if not (0.0 < mean < 1e4 and ratio > 1.0 and run_length > 1.0):
        msg = "a watch needs an expected count, a ratio above one and a run above one"
        raise HistoryError(msg)
    reference = max(round(FINENESS * (ratio - 1.0) * mean / log(ratio)), 1) / FINENESS
    low, high = 0, 1
    while poisson_run_length(mean, reference, high / FINENESS) < run_length:
        low, high = high, 2 * high
        if high > HIGHEST * FINENESS:
            msg = f"no limit up to {HIGHEST} keeps false alarms so rare; expect a larger change"
            raise HistoryError(msg)
    while high - low > 1:
        middle = (low + high) // 2
        found = poisson_run_length(mean, reference, middle / FINENESS)
        low, high = (middle, high) if found < run_length else (low, middle)
    limit = high / FINENESS
    return Watch(reference, limit, poisson_run_length(mean, reference, limit))


def watched(counts: Sequence[float], told: Watch) -> Watched:
    """The sum over the periods' counts; the first alarm, and since when it rose to it.

    >>> found = watched([1, 0, 6, 5, 7], Watch(3.0, 5.25, 240.0))
    >>> found.course, found.alarm, found.since
    ((0.0, 0.0, 3.0, 5.0, 9.0), 4, 2)
    """
    course: list[float] = []
    level, since, alarm = 0.0, 0, None
    for period, count in enumerate(counts):
        if level == 0.0:
            since = period
        level = max(0.0, level + count - told.reference)
        course.append(level)
        if level >= told.limit:
            alarm = period
            break
    return Watched(tuple(course), alarm, since if alarm is not None else None)


def poisson_run_length(mean: float, reference: float, limit: float) -> float:
    """Average run length of a sum of Poisson counts, reference and limit in quarters.

    Examples
    --------
    With a limit that one count reaches, the run is geometric: 1 / P(x >= 1).

    >>> round(poisson_run_length(0.1, 0.5, 0.5), 4) == round(1 / (1 - 0.9048374180), 4)
    True
    """
    step, top = round(FINENESS * reference), ceil(FINENESS * limit)
    chances = _poisson(mean, top // FINENESS + step // FINENESS + 2)
    moves = np.zeros((top, top))
    states = np.arange(top)
    for count, chance in enumerate(chances.tolist()):
        to = np.maximum(states + FINENESS * count - step, 0)
        stays = to < top
        moves[states[stays], to[stays]] += chance
    return _mean_run(moves)


def run_length_of(
    distribution: Callable[[Floats], Floats], reference: float, limit: float, states: int = 200
) -> float:
    """Average run length for any variable, by its distribution function, on a grid.

    Brook & Evans: state i stands for sums about i w, w = 2 h / (2 n - 1); the first holds all
    sums up to w / 2.
    """
    width = 2.0 * limit / (2.0 * states - 1.0)
    at = np.arange(float(states))
    edges = np.asarray((at[None, :] - at[:, None] + 0.5) * width + reference, dtype=np.float64)
    upper = distribution(edges)
    moves = upper - distribution(edges - width)
    moves[:, 0] = upper[:, 0]
    return _mean_run(moves)


def _mean_run(moves: Floats) -> float:
    return float(np.linalg.solve(np.eye(len(moves)) - moves, np.ones(len(moves)))[0])


def _poisson(mean: float, most: int) -> Floats:
    counts = np.arange(most + 1)
    logs = counts * log(mean) - mean - np.cumsum(np.log(np.maximum(counts, 1)))
    return np.asarray(np.exp(logs))
