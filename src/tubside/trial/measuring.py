"""What a trial shows: means with their intervals, policies compared on the same calls."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from tubside.pack.fault_model import Floats
from tubside.trial.working import Stated, Worked

NORMAL_95 = 1.959964
RESAMPLES = 2000


@dataclass(frozen=True, slots=True)
class Mean:
    """A mean and the half width of its 95 % interval; ``n`` is how many it rests on."""

    value: float
    half: float
    n: int


@dataclass(frozen=True, slots=True)
class Row:
    """One policy over all calls of a trial.

    ``saved`` is the share of the excess of the policy compared with that is saved.
    """

    policy: str
    cost: Mean
    excess: Mean
    minutes: Mean
    trips: Mean
    by_phone: Mean
    first_visit: Mean
    first_visit_served: Mean
    wrong_parts: Mean
    came_back: Mean
    saved: Mean


@dataclass(frozen=True, slots=True)
class Calibration:
    """How often what was stated was true."""

    held: Mean
    set_size: Mean
    slope: Mean


def rows(worked: Sequence[Worked], against: str) -> list[Row]:
    """One row for each policy, in the order in which they were tried."""
    by_policy: dict[str, list[Worked]] = {}
    for one in worked:
        by_policy.setdefault(one.policy, []).append(one)
    base = np.array([one.excess for one in by_policy[against]])
    return [_row(name, found, base) for name, found in by_policy.items()]


def _row(name: str, found: Sequence[Worked], base: Floats) -> Row:
    visits = [one for one in found if one.trips]
    served = [one for one in visits if one.known_way in {"carried", "ordered", "phone"}]

    def over(of: Sequence[Worked], what: Callable[[Worked], float]) -> Mean:
        return mean(np.array([float(what(one)) for one in of]))

    excess = np.array([one.excess for one in found])
    return Row(
        policy=name,
        cost=over(found, lambda one: one.cost),
        excess=mean(excess),
        minutes=over(found, lambda one: one.minutes),
        trips=over(found, lambda one: one.trips),
        by_phone=over(found, lambda one: one.by_phone),
        first_visit=over(visits, lambda one: one.first_visit),
        first_visit_served=over(served, lambda one: one.first_visit),
        wrong_parts=over(found, lambda one: one.wrong_parts),
        came_back=over(found, lambda one: one.came_back),
        saved=saved(excess, base),
    )


def mean(values: Floats) -> Mean:
    """Mean with the half width of its 95 % normal interval; nothing at all from no value.

    Examples
    --------
    >>> round(mean(np.array([1.0, 2.0, 3.0])).half, 4)
    1.1316
    """
    if not len(values):
        return Mean(float("nan"), float("nan"), 0)
    half = float("nan")
    if len(values) > 1:
        half = NORMAL_95 * float(values.std(ddof=1)) / len(values) ** 0.5
    return Mean(float(values.mean()), half, len(values))


def saved(excess: Floats, base: Floats) -> Mean:
    """1 - sum(excess) / sum(base) on the same calls, half width by the bootstrap.

    Efron & Tibshirani 1993, *An Introduction to the Bootstrap*, ch. 13 (percentile
    interval; from memory); the resampling has a seed of its own.
    """
    if not base.sum():
        return Mean(float("nan"), float("nan"), len(base))
    rng = np.random.default_rng(0)
    again = rng.integers(0, len(base), (RESAMPLES, len(base)))
    ratios = 1.0 - excess[again].sum(axis=1) / base[again].sum(axis=1)
    low, high = np.quantile(ratios, [0.025, 0.975])
    return Mean(1.0 - float(excess.sum() / base.sum()), float(high - low) / 2.0, len(base))


def calibration(beliefs: Sequence[Stated]) -> Calibration:
    """Share of stated sets that held, their mean size, and the slope of true on stated.

    The slope is that of least squares through all stated chances above 1 %; its
    interval comes from resampling calls.
    """
    held = np.array([float(one.held) for one in beliefs])
    size = np.array([float(one.size) for one in beliefs])
    return Calibration(mean(held), mean(size), _slope(beliefs))


def _slope(beliefs: Sequence[Stated]) -> Mean:
    """Least squares with an intercept, from sums kept for each call."""
    sums = np.array(
        [
            [
                len(one.probability),
                one.probability.sum(),
                one.true.sum(),
                one.probability @ one.probability,
                one.probability @ one.true,
            ]
            for one in beliefs
        ]
    )
    if len(sums) < 3:
        return Mean(float("nan"), float("nan"), len(sums))
    rng = np.random.default_rng(0)
    again = rng.integers(0, len(sums), (RESAMPLES, len(sums)))
    low, high = np.quantile(_slope_of(sums[again].sum(axis=1)), [0.025, 0.975])
    value = float(_slope_of(sums.sum(axis=0)[None, :])[0])
    return Mean(value, float(high - low) / 2.0, len(sums))


def _slope_of(sums: Floats) -> Floats:
    n, x, y, xx, xy = sums.T
    return np.asarray((n * xy - x * y) / (n * xx - x * x))
