"""One ring-down: how a tub swings after a push, by which model, and how sure that is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.shake.damped import Damped, Window, envelope, fit, gain
from tubside.recordings.shake.events import Push

Array = NDArray[np.float64]
SEEN = 0.1
"""A swing is over when it is below this share of the first, as in the physics."""
CLEAR = 10.0
"""A richer model must be better by this difference of BIC (Kass and Raftery, J. Am. Stat.
Assoc. 90, 1995, 773-795: very strong; from memory)."""
STARTS = (0.0, 0.125, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0)
"""Where a fit may begin, in swings after the height of the push: hands leave late."""
FIRST_TRIED = 0.5
EARLY = 0.5
"""Swings at the start of a fit that must look as the rest does: the hand has left."""
SHARES = (0.03, 0.1, 0.3)
LONGEST_S = 20.0
LEAST_SECOND = 0.12
LEAST_SHARE = 1e-3
"""A swing that loses less than this a radian does not die away in any log."""
MOST_SWING = 0.4
"""Swings a sample: what swings faster than half the rate is seen as something slower
(Shannon, Proc. IRE 37(1), 1949, 10-21), and near it two samples a swing say little."""


@dataclass(frozen=True, slots=True)
class Ring:
    """A ring-down as fitted: where it begins [s], its best model, and the plain one.

    ``noise`` is the quiet level [m/s²] of one axis, ``start_s`` counts from the log's start.
    """

    start_s: float
    window: Window
    model: Damped
    plain: Damped
    noise: float

    @property
    def main(self) -> int:
        """The mode that swings most."""
        return int(np.argmax(self.model.amplitude))

    @property
    def outstands(self) -> float:
        """Amplitude over the noise of one axis."""
        return float(self.model.amplitude[self.main] / max(self.noise, 1e-9))

    @property
    def misfit(self) -> float:
        """Variance left over the variance of the noise."""
        return self.model.squares / self.model.spare / max(self.noise, 1e-9) ** 2

    def clean(self, least: float) -> bool:
        """Whether the first half swing is left with no more than noise and ``least`` misfit."""
        omega, _, _ = self.plain.rates()
        early = self.model.left[self.window.times_s < EARLY * 2.0 * np.pi / omega]
        if early.size < 6:
            return True
        allowed = least * (1.0 + 2.0 * np.sqrt(2.0 / early.size))
        left = float(np.square(early).mean()) / max(self.noise, 1e-9) ** 2
        return bool(left <= allowed and self.misfit <= 1.2 * least)

    @property
    def doubt(self) -> float:
        """Standard deviation of the log of sigma of the main mode."""
        return float(np.sqrt(max(self.model.covariance[2 * self.main + 1, 2 * self.main + 1], 0)))

    @property
    def explained(self) -> float:
        """Share of the swing in the window that the model explains."""
        centred = self.window.values - self.window.values.mean(axis=0)
        return 1.0 - self.model.squares / max(float(np.square(centred).sum()), 1e-300)


def ring_down(times_s: Array, axes: Array, push: Push, noise: float) -> Ring | None:
    """The ring-down after a push; None where nothing swings."""
    whole = _window(times_s, axes, push.start_s, min(push.end_s, push.start_s + LONGEST_S))
    if whole is None:
        return None
    omega = _likeliest(whole)
    shares = [np.log([omega, share * omega]) for share in SHARES]

    def started(late: float, starts: Sequence[Array]) -> Ring | None:
        within = (push.start_s + late * 2.0 * np.pi / omega, push.end_s)
        return _fitted(times_s, axes, within, noise, starts)

    first = started(FIRST_TRIED, shares) or started(0.0, shares)
    if first is None:
        return None
    rich = _richer(first)
    rings = []
    for late in STARTS:
        ring = started(late, [first.plain.logs])
        if ring is not None:
            rings.append(ring if rich.model is rich.plain else _alike(ring, rich))
            if rings[-1].clean(min(max(one.misfit, 1.0) for one in [rich, *rings])):
                break
    ring = rings[-1] if rings and rings[-1].misfit <= 1.2 * max(rich.misfit, 1.0) else rich
    return ring if ring.model is not ring.plain else _richer(ring)


def _alike(ring: Ring, rich: Ring) -> Ring:
    """A ring-down from another start, by the kind of model of ``rich``."""
    model = fit(ring.window, [rich.model.logs], friction=rich.model.friction)
    return ring if model is None else replace(ring, model=model)


def _window(times_s: Array, axes: Array, start: float, end: float) -> Window | None:
    inside = (times_s >= start) & (times_s <= end) & np.isfinite(axes).all(axis=1)
    if inside.sum() < 12:
        return None
    return Window(times_s[inside] - start, axes[inside])


def _likeliest(window: Window) -> float:
    """The strongest line of a Lomb-Scargle sum over all axes [rad/s], weighted to the start.

    (VanderPlas, Astrophys. J. Suppl. 236(1), 2018, 16: uneven samples need no grid.)
    """
    t = window.times_s
    span = min(float(t[-1]), 4.0)
    weight = np.exp(-t / span)[:, None]
    values = (window.values - window.values.mean(axis=0)) * weight
    top = min(16.0, MOST_SWING * (len(t) - 1) / float(t[-1]))
    frequencies = np.arange(0.6, max(top, 1.0), 0.08)
    turn = np.exp(-2j * np.pi * frequencies[:, None] * t[None, :])
    power = np.square(np.abs(turn @ values)).sum(axis=1)
    return float(2.0 * np.pi * frequencies[int(np.argmax(power))])


def _fitted(
    times_s: Array,
    axes: Array,
    within: tuple[float, float],
    noise: float,
    starts: Sequence[Array],
) -> Ring | None:
    """The plain model from a start on, first on all there is, then on what still swings."""
    start, end = within
    ring = None
    for _ in range(2):
        window = _window(times_s, axes, start, min(end, start + LONGEST_S))
        plain = None if window is None else fit(window, starts)
        if window is None or plain is None:
            return None
        omega, sigma, _ = plain.rates()
        top = 2.0 * np.pi * MOST_SWING * (len(window.times_s) - 1) / float(window.times_s[-1])
        if not (2.0 < omega < min(110.0, top) and 1e-3 < sigma / omega < 3.0):
            return None
        starts = [plain.logs]
        end = min(end, start + max(5.0 / sigma, 2.5 * 2.0 * np.pi / omega))
        ring = Ring(start, window, plain, plain, noise)
    return ring


def _richer(ring: Ring) -> Ring:
    """With dry friction or a second swing, where that is clearly better."""
    omega, sigma, _ = ring.plain.rates()
    starts = [np.log([omega, share * sigma, (1.0 - share) * sigma]) for share in (0.05, 0.3, 0.7)]
    rough = fit(ring.window, starts, friction=True)
    best, by = ring.plain, CLEAR
    if rough is not None and (better := gain(ring.plain, rough, 1)) > by:
        best, by = rough, better
    double = fit(ring.window, _second(ring))
    more = 2 + 2 * ring.window.values.shape[1]
    if double is not None and (better := gain(ring.plain, double, more)) > by and _two(double):
        best = double
    return Ring(ring.start_s, ring.window, best, ring.plain, ring.noise)


def _second(ring: Ring) -> Sequence[Array]:
    """Starting points for two swings: the one found, and the strongest of what it leaves."""
    omega, sigma, _ = ring.plain.rates()
    other = _likeliest(Window(ring.window.times_s, ring.plain.left))
    close = [other] if abs(other / omega - 1.0) > 0.05 else [1.15 * omega, 0.87 * omega]
    return [np.log([omega, sigma, one, sigma]) for one in close]


def _two(double: Damped) -> bool:
    """Whether both are swings, apart from each other, and neither is small."""
    found = np.exp(double.logs).reshape(-1, 2)
    share = found[:, 1] / found[:, 0]
    apart = abs(np.log(found[0, 0] / found[1, 0])) > 0.04
    small = double.amplitude.min() < LEAST_SECOND * double.amplitude.max()
    dies = ((share > LEAST_SHARE) & (share < 0.5)).all()
    return bool(apart and not small and dies and (found[:, 0] > 3.0).all())


def swings_left(omega: float, sigma: float, step: float = 0.0) -> float:
    """Whole bounces until a swing is below :data:`SEEN` of the first, not rounded.

    >>> round(swings_left(10.0, 0.7329), 2)
    5.0
    """
    low, high = 0.0, np.log(1.0 / SEEN) / sigma
    for _ in range(50):
        middle = 0.5 * (low + high)
        if envelope(np.array([middle]), sigma, step)[0] > SEEN:
            low = middle
        else:
            high = middle
    return float(omega * high / (2.0 * np.pi))
