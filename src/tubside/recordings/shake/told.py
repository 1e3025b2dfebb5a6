"""What a ring-down comes to: bounces, damping and frequency with their intervals."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.physics.suspension import ratio_of_bounces, ratio_of_decrement
from tubside.recordings.shake.damped import columns
from tubside.recordings.shake.ring_down import Ring, swings_left

Array = NDArray[np.float64]
LEVEL = 0.95
WIDE = 1.96
"""Standard deviations to either side of the middle of :data:`LEVEL`."""
LEAST_OUTSTANDS = 2.5
MOST_DOUBT = 0.6
LEAST_MISFIT = 0.3
"""Where a fit leaves much less than the log's own quiet, the log has no quiet: it is carried."""
MOST_COUNTS = 200
CLEARLY = 20.0
"""A swing must be better than a mere drift by this difference of BIC."""
ROUGH = 0.25
"""Dry friction is told from this share of the first swing's loss on."""


ROUGH_SPREAD = 0.1
"""Standard deviation of the log of a count under dry friction, beside that of the fit: the law
of the sinking swing is the first order of an average alone (own choice, by simulation)."""


@dataclass(frozen=True, slots=True)
class Told:
    """A number and the ends of its interval of :data:`LEVEL`."""

    value: float
    low: float
    high: float

    @property
    def spread(self) -> float:
        """Its standard deviation, near enough."""
        return (self.high - self.low) / (2.0 * WIDE)


@dataclass(frozen=True, slots=True)
class Swing:
    """One ring-down in numbers: bounces to a tenth, damping ratio, natural frequency [Hz]."""

    bounces: Told
    ratio: Told
    frequency_hz: Told


def whole_counts(bounces: Told) -> dict[int, float]:
    """Whole counts that hold :data:`LEVEL` together, the likeliest first, and the chance of each.

    A count lies where it does with a normal distribution of its logarithm, that of its
    interval; it is told as the nearest whole number.

    >>> {n: round(p, 2) for n, p in whole_counts(Told(3.4, 3.05, 3.79)).items()}
    {3: 0.7, 4: 0.3}
    """
    from scipy.special import ndtr  # noqa: PLC0415  # only recordings need it

    middle, spread = np.log(bounces.value), np.log(bounces.high / bounces.low) / (2.0 * WIDE)
    first = max(int(np.floor(bounces.low)) - 1, 0)
    last = min(int(np.ceil(bounces.high)) + 1, first + MOST_COUNTS)
    borders = np.maximum(np.arange(first, last + 2) - 0.5, 1e-9)
    chances = np.diff(ndtr((np.log(borders) - middle) / max(spread, 1e-9)))
    found: dict[int, float] = {}
    for place in np.argsort(-chances, kind="stable"):
        if sum(found.values()) >= LEVEL:
            break
        found[first + int(place)] = float(chances[place])
    return found


def is_ring_down(ring: Ring) -> bool:
    """Whether it is a swing that dies away, and not walking, a knock or noise."""
    omega, sigma, _ = ring.model.rates(ring.main)
    length = float(ring.window.times_s[-1])
    fits = ring.misfit >= LEAST_MISFIT and (ring.misfit <= 3.0 or ring.explained >= 0.85)
    seen = length * omega / (2.0 * np.pi) >= 1.0 and sigma * length >= 0.5
    sure = ring.outstands >= LEAST_OUTSTANDS and ring.doubt <= MOST_DOUBT
    return bool(fits and seen and sure and sigma / omega < 1.5 and _beats_drift(ring))


def _beats_drift(ring: Ring) -> bool:
    window = ring.window
    drift = columns(window.times_s, np.zeros(0), friction=False)
    linear, *_ = np.linalg.lstsq(drift, window.values, rcond=None)
    plain = float(np.square(window.values - drift @ linear).sum())
    more = 2 + 2 * window.values.shape[1]
    n = window.size
    better = n * np.log(max(plain, 1e-300) / max(ring.plain.squares, 1e-300))
    return bool(better - more * np.log(n) > CLEARLY)


def is_rough(ring: Ring) -> bool:
    """Whether dry friction takes a good share of what the first swing loses."""
    _, sigma, step = ring.model.rates()
    return ring.model.friction and step / (step + sigma) >= ROUGH


def swing_of(rings: Sequence[Ring]) -> Swing:
    """The numbers of one ring-down, or of several of one tub taken together.

    Several are weighted by their certainty on the logarithm; only plain ones are joined.
    """
    first = rings[0]
    logs, covariance = _main(first)
    if len(rings) > 1:
        parts = [_main(ring) for ring in rings]
        weights = [np.linalg.inv(part[1]) for part in parts]
        covariance = np.linalg.inv(np.sum(weights, axis=0))
        total = np.sum([w @ part[0] for w, part in zip(weights, parts, strict=True)], axis=0)
        logs = covariance @ total

    def bounces(at: Array) -> float:
        omega, sigma = np.exp(at[:2])
        return swings_left(omega, sigma, float(np.exp(at[2])) if len(at) > 2 else 0.0)

    def ratio(at: Array) -> float:
        if len(at) > 2:
            return float(ratio_of_bounces(bounces(at)))
        omega, sigma = np.exp(at)
        return float(sigma / np.hypot(omega, sigma))

    def frequency(at: Array) -> float:
        omega, sigma = np.exp(at[:2])
        return float((omega if len(at) > 2 else np.hypot(omega, sigma)) / (2.0 * np.pi))

    extra = ROUGH_SPREAD if first.model.friction else 0.0
    return Swing(
        _interval(bounces, logs, covariance, extra),
        _interval(ratio, logs, covariance, extra),
        _interval(frequency, logs, covariance),
    )


def _main(ring: Ring) -> tuple[Array, Array]:
    """Logs of omega, sigma, and k where there is friction, of the main mode."""
    keep = [2 * ring.main, 2 * ring.main + 1]
    if ring.model.friction:
        keep.append(len(ring.model.logs) - 1)
    return ring.model.logs[keep], ring.model.covariance[np.ix_(keep, keep)]


def _interval(
    of: Callable[[Array], float], logs: Array, covariance: Array, extra: float = 0.0
) -> Told:
    """The delta method on the logarithm of a positive number."""
    value = max(of(logs), 1e-9)
    steps = 1e-4 * np.eye(len(logs))
    ups = np.array([of(logs + step) for step in steps])
    downs = np.array([of(logs - step) for step in steps])
    slope = np.log(np.maximum(ups, 1e-9) / np.maximum(downs, 1e-9)) / 2e-4
    spread = float(np.sqrt(max(slope @ covariance @ slope, 0.0) + extra**2))
    wide = WIDE * min(spread, 2.0)
    return Told(value, value * np.exp(-wide), value * np.exp(wide))


def agree(one: Ring, other: Ring) -> bool:
    """Whether two ring-downs may be of one tub in one state."""
    a, b = _main(one), _main(other)
    if len(a[0]) != 2 or len(b[0]) != 2 or one.model.modes + other.model.modes > 2:
        return False
    apart = a[0] - b[0]
    known = float(apart @ np.linalg.inv(a[1] + b[1]) @ apart)
    return known < 9.2  # chi-square with two degrees of freedom, 1 %


def by_tops(ring: Ring) -> float | None:
    """The damping ratio by the logarithmic decrement of its half swings, a cross-check only.

    A line through the logarithm of their sizes over their number (Thomson, section 2.7); a
    size is the root of the mean square less that of the noise, and those near the noise are
    left out. None with fewer than three.
    """
    values = ring.window.values - ring.window.values.mean(axis=0)
    _, _, ways = np.linalg.svd(values, full_matrices=False)
    along = np.square(values @ ways[0]) - ring.noise**2
    omega, _, _ = ring.plain.rates()
    turn = np.floor(ring.window.times_s * omega / np.pi).astype(int)
    sizes = [along[turn == n].mean() if (turn == n).any() else 0.0 for n in range(turn[-1])]
    enough = np.array(sizes) > 2.0 * ring.noise**2
    last = len(sizes) if enough.all() else int(np.argmin(enough))
    if last < 3:
        return None
    slope = np.polyfit(np.arange(last), 0.5 * np.log(sizes[:last]), 1)[0]
    return float(ratio_of_decrement(-2.0 * slope)) if slope < 0.0 else None
