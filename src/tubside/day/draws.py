"""Days as they may turn out: how long visits and trips take, drawn once and used by every order.

Every stop and every trip has its own column, made from the seed that is handed in and the
stop's id. So an order is always compared with another on the same days (common random
numbers; Glasserman & Yao, Some guidelines and guarantees for common random numbers, 1992,
Management Science 38; from memory), also when a stop is added or some are done.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist
from zlib import crc32

import numpy as np

from tubside.day.problem import Z90, Busy, Day, Floats, TimeOnSite


@dataclass(frozen=True, slots=True, eq=False)
class Draws:
    """Drawn durations [s], factors of travel times, and the promises to hold them against."""

    opens: Floats  # (stops,), s; -inf where nothing was promised
    closes: Floats  # (stops,), s; inf where nothing was promised
    priority: Floats  # (stops,)
    on_site: Floats  # (stops, draws)
    road: Floats  # (places, draws), times the travel time to that place
    begin: Floats  # (technicians, draws), when each is free

    @property
    def count(self) -> int:
        """How many days were drawn."""
        return len(self.road[0])


def draw(day: Day, seed: int, count: int) -> Draws:
    """Draw ``count`` days.

    Each column is a stratified sample: one number from each of ``count`` strata of equal
    chance, in random order (Latin hypercube; McKay, Beckman & Conover 1979, Technometrics
    21, from memory).
    """
    on_site = [_times(stop.on_site, _normals(seed, f"site {stop.id}", count)) for stop in day.stops]
    names = [f"road {stop.id}" for stop in day.stops]
    names += [f"{end} {one.id}" for one in day.technicians for end in ("start", "end")]
    traffic = _factors(day.travel.day_spread, _normals(seed, "traffic", count))
    spread = day.travel.leg_spread
    road = [traffic * _factors(spread, _normals(seed, name, count)) for name in names]
    begin = [
        one.hours.opens + _remaining(one.busy, _normals(seed, f"busy {one.id}", count))
        for one in day.technicians
    ]
    return Draws(
        *_promises(day),
        np.reshape(on_site, (len(day.stops), count)),
        np.array(road),
        np.reshape(begin, (len(day.technicians), count)),
    )


def expected(day: Day) -> Draws:
    """The one day on which everything takes its mean time."""
    return Draws(
        *_promises(day),
        np.array([[stop.on_site.mean] for stop in day.stops]).reshape(len(day.stops), 1),
        np.ones((len(day.stops) + 2 * len(day.technicians), 1)),
        np.array([[one.hours.opens + mean_remaining(one.busy)] for one in day.technicians]),
    )


def _promises(day: Day) -> tuple[Floats, Floats, Floats]:
    promised = [stop.promised for stop in day.stops]
    return (
        np.array([-np.inf if one is None else one.opens for one in promised]),
        np.array([np.inf if one is None else one.closes for one in promised]),
        np.array([stop.priority for stop in day.stops]),
    )


def mean_remaining(busy: Busy | None) -> float:
    """Return how long a visit under way is expected to last still [s]."""
    return float(np.mean(_remaining(busy, np.asarray(_strata(512)))))


def _normals(seed: int, name: str, count: int) -> Floats:
    rng = np.random.default_rng([seed, crc32(name.encode())])
    return rng.permutation(np.asarray(_strata(count)))


@lru_cache(maxsize=8)
def _strata(count: int) -> tuple[float, ...]:
    """The middles of ``count`` strata of equal chance of the standard normal."""
    normal = NormalDist()
    return tuple(normal.inv_cdf((k + 0.5) / count) for k in range(count))


def _times(time: TimeOnSite, normals: Floats) -> Floats:
    return np.asarray(time.mean * np.exp(time.sigma * normals - 0.5 * time.sigma**2))


def _factors(spread: float, normals: Floats) -> Floats:
    sigma = np.log(spread) / Z90
    return np.asarray(np.exp(sigma * normals - 0.5 * sigma**2))


def _remaining(busy: Busy | None, normals: Floats) -> Floats:
    """What is left of a visit that has lasted so long: the tail of its log-normal."""
    if busy is None:
        return np.zeros(normals.shape)
    time, elapsed = busy.on_site, busy.elapsed
    if time.sigma == 0.0 or elapsed <= 0.0:
        return np.maximum(_times(time, normals) - elapsed, 0.0)
    from scipy.special import ndtr, ndtri  # noqa: PLC0415 - scipy is slow to load

    reached = (np.log(elapsed / time.mean) + 0.5 * time.sigma**2) / time.sigma
    above = ndtr(-reached) * ndtr(-normals)  # the chance to last still longer
    tail = -ndtri(np.maximum(above, np.finfo(np.float64).tiny))
    return np.maximum(_times(time, tail) - elapsed, 0.0)
