r"""How much of a multiplexed lamp's light one exposure catches, and when none is caught.

A lamp is driven for a share d of each period T = 1/f of the multiplex. A frame gathers light
for the exposure u = t_e f (in periods), and the lamp's rows are exposed over another t_r f.
What follows is worked out here from these three numbers.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
BINS = 96
WINDOWS = (0.03, 0.07, 0.12, 0.18, 0.25, 0.33, 0.42, 0.52, 0.62, 0.72, 0.82, 0.92, 1.05, 1.2)
LONG_WINDOWS = (1.35, 1.5, 1.7, 1.9, 2.2, 2.5, 2.8, 3.5, 5.5, 10.5, 20.5)
SLOTS = (0.06, 0.12, 0.2, 0.32)
BLURS = (0.05, 0.4)
SMALLEST = 0.02
SLOT_LIMITS = (0.055, 0.36)


def seen_share(exposure_s: float, crossing_s: float, multiplex_hz: float, slot: float) -> float:
    r"""Return the share of frames in which a lit lamp is seen; one or more when in all.

    .. math:: w = (t_e + t_r) f + d

    A frame catches light when a slot begins between d before the first row opens and the
    moment the last row closes. Where w ≥ 1 every frame catches a pulse and nothing is lost.

    Parameters
    ----------
    exposure_s, crossing_s : float
        Exposure, and the time the shutter needs to cross the lamp.
    multiplex_hz, slot : float
        Rate of the multiplex, and the share of a period for which a lamp is driven.

    Examples
    --------
    A bright room at 1/1000 s, 200 Hz and eight slots, and a dim one at 1/60 s:

    >>> round(seen_share(0.001, 0.0008, 200.0, 1 / 8), 3)
    0.485
    >>> round(seen_share(1 / 60, 0.0008, 200.0, 1 / 8), 3)
    3.618
    """
    return (exposure_s + crossing_s) * multiplex_hz + slot


def beat_hz(multiplex_hz: float, frame_rate_hz: float) -> float:
    r"""Return the rate at which a steady lamp seems to flash.

    .. math:: f_b = \min_n |f - n r|

    A steady lamp of share w < 1 is then dark for (1 - w)/f_b at a time. Where f_b times the
    clip's length is less than 1 - w the picture is frozen: some lamps are never caught.

    Examples
    --------
    >>> round(beat_hz(121.3, 30.0), 6), round(beat_hz(121.3, 24.0), 6)
    (1.3, 1.3)
    >>> round(beat_hz(100.0, 25.0), 6), round(beat_hz(100.0, 30.0), 6)
    (0.0, 10.0)
    """
    return abs(multiplex_hz - frame_rate_hz * round(multiplex_hz / frame_rate_hz))


def caught(phase: Array, window: float, slot: float) -> Array:
    r"""Return the light caught by an exposure that starts at ``phase``, mean one.

    .. math:: g(\theta) = \frac{M(\theta + u) - M(\theta)}{u d},
        \quad M(x) = d \lfloor x \rfloor + \min(x - \lfloor x \rfloor, d)

    the integral of a pulse train of share d over u of its periods: a box filter as wide as
    the exposure (Zhang et al., arXiv 2602.08474, abstract). True for 0 < d ≤ 1 and u > 0.

    Parameters
    ----------
    phase : Array
        Starts of the exposure in periods of the multiplex.
    window : float
        Exposure in periods of the multiplex.
    slot : float
        Share of a period in which the lamp is driven.

    Examples
    --------
    Half a period from the start of a slot of a quarter catches twice the mean:

    >>> caught(np.array([0.0, 0.3]), 0.5, 0.25)
    array([2., 0.])
    """

    def driven(x: Array) -> Array:
        whole = np.floor(x)
        return whole * slot + np.minimum(x - whole, slot)

    return np.asarray((driven(phase + window) - driven(phase)) / (window * slot))


@dataclass(frozen=True, slots=True)
class Kind:
    """A shape: exposure, slot and the shutter's crossing of the lamp, in multiplex periods."""

    window: float
    slot: float
    blur: float = BLURS[0]

    @property
    def share(self) -> float:
        """Share of frames in which a lit lamp is seen, one or more when always."""
        return self.window + self.slot + self.blur

    def shape(self) -> Array:
        """Return the light caught by phase, averaged over the lamp's rows, shape (BINS,)."""
        starts = (np.arange(BINS) + 0.5) / BINS
        rows = np.linspace(-self.blur / 2, self.blur / 2, 7)
        phases = starts[None, :] + rows[:, None]
        return np.asarray(caught(phases, self.window, self.slot).mean(0))

    def narrower(self) -> tuple[Kind, ...]:
        """Return this kind and sharper ones."""
        sharp = max(SLOT_LIMITS[0], 0.6 * self.slot)
        return self, Kind(0.6 * self.window, sharp, self.blur)

    def near(self) -> tuple[Kind, ...]:
        """Return kinds close to this one, itself among them."""
        return tuple(
            Kind(
                max(SMALLEST, self.window + step),
                min(max(SLOT_LIMITS[0], self.slot * wide), SLOT_LIMITS[1]),
                self.blur * more,
            )
            for step in (-0.06, -0.03, 0.0, 0.03, 0.06)
            for wide in (0.8, 1.0, 1.25)
            for more in (0.6, 1.0, 1.6)
        )


def table(kinds: tuple[Kind, ...]) -> Array:
    """Return the shapes of several kinds, shape (kinds, BINS)."""
    return np.array([kind.shape() for kind in kinds])


@cache
def coarse_kinds() -> tuple[tuple[Kind, ...], Array]:
    """Return the kinds tried first, and their shapes."""
    kinds = tuple(Kind(u, d, blur) for u in WINDOWS + LONG_WINDOWS for d in SLOTS for blur in BLURS)
    return kinds, table(kinds)
