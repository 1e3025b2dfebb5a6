"""One explanation of a panel on camera: what it makes of every lamp."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.recordings.beats import Shaped, against_dark
from tubside.recordings.lamp_levels import Levelled
from tubside.recordings.rhythms import Rhythm

Array = NDArray[np.float64]
NEVER_NATS = 1e4
ALONE_NATS = 60.0
ALONE_SHARE = 0.8


@dataclass(frozen=True, slots=True)
class LampFit:
    """One lamp under one explanation: nats, its rhythm and free path when it flashes.

    It is ``counted`` when its free path says so much more that no even flash is meant; where
    that path is one of regular groups, ``price`` is what these were charged. ``whole`` are the
    nats of all frames that speak for a lit lamp.
    """

    steady: float
    flashing: float
    rhythm: Rhythm
    counted: bool
    path: NDArray[np.bool_]
    price: float = 0.0
    whole: float = 0.0


@dataclass(frozen=True, slots=True)
class Explanation:
    """One explanation of a panel, its price in nats, and every lamp under it."""

    beat: Shaped | None
    lamps: tuple[LampFit, ...]
    lit: NDArray[np.bool_]
    price: float

    @property
    def rows(self) -> Array:
        """Nats of off, steady and flashing, shape (lamps, 3); what was seen lit is not off."""
        fits = np.array([[0.0, fit.steady, fit.flashing] for fit in self.lamps])
        kinds = np.array([[0.0, -NEVER_NATS, -NEVER_NATS], [-NEVER_NATS, 0.0, 0.0]])
        never = kinds[self.lit.astype(np.int64)]
        return np.asarray(np.where(never < 0.0, never, fits))

    @property
    def nats(self) -> float:
        """Log-likelihood of all lamps together, each over its states."""
        return float(np.logaddexp.reduce(self.rows, axis=1).sum()) - self.price


def dark_fit(frames: int) -> LampFit:
    """Return the fit of a lamp that was never seen lit."""
    never = Rhythm(0.0, 1.0, 0.0, 0.0)
    return LampFit(0.0, 0.0, never, False, np.zeros(frames, dtype=np.bool_))


def clear(fit: LampFit) -> bool:
    """Return whether an even flash by far explains a lamp, and nearly all of its light."""
    far = fit.flashing > fit.steady + ALONE_NATS
    return far and fit.flashing > ALONE_SHARE * fit.whole


def middle_light(level: Levelled) -> Array:
    """Return the light of lamps that every frame sees alike, shape (lamps, frames)."""
    lit = []
    for x, ok, top in zip(level.x, level.seen, level.top, strict=True):
        bright = x[ok & (x > top / 2)]
        lit.append(float(np.median(bright)) if len(bright) else top)
    return np.repeat(np.array(lit)[:, None], level.x.shape[1], axis=1)


def reached_share(level: Levelled, fits: Sequence[LampFit]) -> Array:
    """Return how much of the light seen is explained, as a share of what could be, by lamp.

    The nats of the lamp's state over those by which its frames speak against a dark lamp.
    """
    most = against_dark(level, middle_light(level)).sum(1)
    reached = np.array([max(fit.steady, fit.flashing + fit.price) for fit in fits])
    return np.asarray(reached / np.maximum(most, 1e-9))
