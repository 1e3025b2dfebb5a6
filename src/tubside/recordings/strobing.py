"""How much of a multiplexed lamp's light one exposure catches, by phase."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
BINS = 96
WINDOWS = (0.03, 0.07, 0.12, 0.18, 0.25, 0.33, 0.42, 0.52, 0.62, 0.72, 0.82, 0.92, 1.05, 1.2)
LONG_WINDOWS = (1.35, 1.5, 1.7, 1.9, 2.2, 2.5, 2.8, 3.3, 3.7, 4.5, 6.5, 10.5, 20.5)
SLOTS = (0.05, 0.09, 0.14, 0.2, 0.28, 0.4)


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
    blur: float = 0.05

    @property
    def share(self) -> float:
        """Share of frames in which a lit lamp is seen, one or more when always."""
        return self.window + self.slot + self.blur

    def shape(self) -> Array:
        """Return the light caught by phase, averaged over the lamp's rows, shape (BINS,)."""
        starts = np.arange(BINS) / BINS
        rows = np.linspace(-self.blur / 2, self.blur / 2, 5)
        return np.asarray(
            np.mean([caught(starts + row, self.window, self.slot) for row in rows], axis=0)
        )

    def near(self) -> tuple[Kind, ...]:
        """Return kinds close to this one, itself among them."""
        return tuple(
            Kind(max(0.02, self.window + step), self.slot * wide, blur)
            for step in (-0.06, -0.03, 0.0, 0.03, 0.06)
            for wide in (0.8, 1.0, 1.25)
            for blur in (0.03, 0.1)
        )


def coarse_kinds() -> tuple[Kind, ...]:
    """Return the kinds tried first."""
    return tuple(Kind(u, d) for u in WINDOWS + LONG_WINDOWS for d in SLOTS)
