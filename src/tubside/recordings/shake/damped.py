r"""Damped cosines fitted to samples at their own times, by variable projection.

.. math:: y(t) = \sum_m g_m(t) (a_m \cos \omega_m t + b_m \sin \omega_m t) + c + d t

with :math:`g(t) = e^{-\sigma t}`, or with dry friction beside the viscous damping
:math:`g(t) = (1 + k / \sigma) e^{-\sigma t} - k / \sigma` down to nought, from
:math:`dg/dt = -\sigma g - k` (equal steps a swing in place of equal shares). All axes share
:math:`\omega`, :math:`\sigma` and k; amplitudes, offset and drift are each axis's own and
linear, so only the former are searched for (Golub and Pereyra, SIAM J. Numer. Anal. 10(2),
1973, 413-432; from memory). No fixed rate is assumed anywhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
FAR = 30.0
"""Exponents are cut here."""


@dataclass(frozen=True, slots=True)
class Window:
    """Samples of one ring-down: times [s] from its start (n,), values (n, axes), no NaN."""

    times_s: Array
    values: Array

    @property
    def size(self) -> int:
        """Numbers to be explained."""
        return self.values.size


@dataclass(frozen=True, slots=True)
class Damped:
    """A fit: logs of the parameters, their covariance, and what is left.

    ``logs`` holds log omega [rad/s] and log sigma [1/s] of each mode, then log k [1/s] where
    friction was fitted. ``amplitude`` (modes,) is the size of each mode at time 0, over all
    axes; ``left`` (n, axes) the residual, ``spare`` its degrees of freedom.
    """

    logs: Array
    covariance: Array
    amplitude: Array
    left: Array
    spare: float
    friction: bool

    @property
    def squares(self) -> float:
        """Sum of squares left."""
        return float(np.square(self.left).sum())

    @property
    def modes(self) -> int:
        """How many damped cosines."""
        return (len(self.logs) - self.friction) // 2

    def rates(self, mode: int = 0) -> tuple[float, float, float]:
        """omega of the swing [rad/s], sigma [1/s] and k [1/s] of a mode."""
        found = np.exp(self.logs)
        return float(found[2 * mode]), float(found[2 * mode + 1]), float(self.step)

    @property
    def step(self) -> float:
        """k [1/s], 0 without friction."""
        return float(np.exp(self.logs[-1])) if self.friction else 0.0


def envelope(times_s: Array, sigma: float, step: float = 0.0) -> Array:
    """How far a swing still goes, as a share of its first (n,).

    >>> envelope(np.array([0.0, 1.0, 9.0]), 1e-9, 0.25).round(3).tolist()
    [1.0, 0.75, 0.0]
    """
    power = np.minimum(sigma * times_s, FAR)
    if step == 0.0:
        return np.asarray(np.exp(-power))
    return np.maximum(np.exp(-power) + step / sigma * np.expm1(-power), 0.0)


def columns(times_s: Array, logs: Array, *, friction: bool) -> Array:
    """The linear part: cosine and sine of each mode, offset, drift (n, 2 modes + 2)."""
    found = np.exp(np.clip(logs, -25.0, 12.0))
    step = found[-1] if friction else 0.0
    held = found[: len(found) - friction].reshape(-1, 2)
    parts: list[Array] = []
    for omega, sigma in held:
        size = envelope(times_s, sigma, step)
        parts += [size * np.cos(omega * times_s), size * np.sin(omega * times_s)]
    middle = times_s - times_s.mean()
    return np.stack([*parts, np.ones_like(times_s), middle], axis=1)


def fit(window: Window, starts: Sequence[Array], *, friction: bool = False) -> Damped | None:
    """The best fit over starting points, each the logs of the parameters; None if none holds."""
    from scipy.optimize import least_squares  # noqa: PLC0415  # only recordings need it

    y = window.values

    def left(logs: Array) -> Array:
        basis, _ = np.linalg.qr(columns(window.times_s, logs, friction=friction))
        return np.asarray(y - basis @ (basis.T @ y)).ravel()

    best = None
    for start in starts:
        try:
            found = least_squares(left, start, method="lm", max_nfev=60 * len(start))
        except (ValueError, np.linalg.LinAlgError):
            continue
        if best is None or found.cost < best.cost:
            best = found
    if best is None or not np.isfinite(best.x).all():
        return None
    return _told(window, best.x, best.jac, friction=friction)


def _told(window: Window, logs: Array, jacobian: Array, *, friction: bool) -> Damped | None:
    basis = columns(window.times_s, logs, friction=friction)
    linear, *_ = np.linalg.lstsq(basis, window.values, rcond=None)
    left = window.values - basis @ linear
    axes = window.values.shape[1]
    spare = window.size - len(logs) - axes * basis.shape[1]
    if spare < 4:
        return None
    modes = (len(logs) - friction) // 2
    amplitude = np.array([np.linalg.norm(linear[2 * m : 2 * m + 2]) for m in range(modes)])
    try:
        shape = np.linalg.inv(jacobian.T @ jacobian)
    except np.linalg.LinAlgError:
        return None
    spread = float(np.square(left).sum()) / spare * alike(left)
    return Damped(logs, spread * shape, amplitude, left, spare, friction)


def alike(left: Array) -> float:
    """How many times more a variance is when neighbours of a residual are alike (at least 1).

    (1 + r) / (1 - r) of a first-order autoregression with correlation r (Bartlett, J. R.
    Stat. Soc. 98(3), 1935, 536-543; from memory), at most 20.
    """
    before, after = left[:-1] - left.mean(axis=0), left[1:] - left.mean(axis=0)
    scale = float(np.square(left - left.mean(axis=0)).sum())
    r = float((before * after).sum()) / scale if scale > 0.0 else 0.0
    r = min(max(r, 0.0), 0.9048)
    return (1.0 + r) / (1.0 - r)


def gain(plain: Damped, richer: Damped, more: int) -> float:
    """How much the richer fit is to be preferred: a difference of BIC, positive for it.

    N log(SSR_1 / SSR_2) - more log N, N being the numbers that tell, those that only repeat
    their neighbours left out (Schwarz, Ann. Stat. 6(2), 1978, 461-464; from memory).
    """
    n = plain.left.size / alike(richer.left)
    ratio = plain.squares / max(richer.squares, 1e-300)
    return float(n * np.log(max(ratio, 1e-300)) - more * np.log(n))
