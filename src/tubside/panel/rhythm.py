"""When lamps light and go dark in a drawing, never faster than three times a second.

Flashing light can bring on seizures; the limit is WCAG 2.2, success criterion 2.3.1
(three flashes or below), kept here for lamps of any size. Faster models are drawn slower.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil

from tubside.panel.lights import Light

MOST_FLASHES_PER_S = 3.0
SLOWED_S = 0.34
"""Drawn period of a model that is faster: a third of a second in whole hundredths, as
pictures hold no finer times."""
LIT_SHARE = 0.55
"""Share of a period for which a drawn lamp is lit."""

PERIOD_S, GAP_S = 1.1, 3.0
"""Used where the model's own times are not known, as for what a person told."""


@dataclass(frozen=True, slots=True)
class Rhythm:
    """Drawn period and gap [s], and the model's own rate [1/s]."""

    period_s: float
    gap_s: float
    true_hz: float
    slowed: bool

    @property
    def drawn_hz(self) -> float:
        """The rate at which lamps flash in the drawing [1/s]."""
        return 1 / self.period_s


def rhythm_of(
    lights: Iterable[Light], period_s: float | None, gap_s: float | None, speed: float = 1.0
) -> Rhythm:
    """The drawn rhythm of lamps that are shown together, ``speed`` times as fast as in life.

    A single rhythm is drawn true while it keeps to the limit. Lamps of different counts
    drift against each other, and their flashes would add up: their gap is drawn out to
    whole periods, so that all of them light on one beat, and the beat keeps to the limit.
    """
    trains = len({light for light in lights if light.changes})
    true_period, true_gap = period_s or PERIOD_S, gap_s or GAP_S
    period = true_period / speed
    if period * MOST_FLASHES_PER_S < 1:
        period = SLOWED_S
    gap = true_gap * period / true_period
    if trains > 1:
        period = ceil(period * 1000 - ALIKE) / 1000
        gap = ceil(gap / period - ALIKE) * period
    slower = max(period / true_period, gap / true_gap) > 1 + ALIKE
    return Rhythm(period, gap, true_hz=1 / true_period, slowed=slower)


ALIKE = 1e-6
"""Shares closer than this are the same time."""


@dataclass(frozen=True, slots=True)
class Keys:
    """One round of a lamp: length [s], moments as shares of it, lit or dark from each."""

    length_s: float
    moments: tuple[float, ...]
    lit: tuple[bool, ...]


def keys_of(light: Light, rhythm: Rhythm) -> Keys:
    """One round of a changing lamp: one flash, or a count and its gap."""
    count = max(light.count, 1)
    gap = rhythm.gap_s if light.kind == "blinks" else 0.0
    length = count * rhythm.period_s + gap
    starts = [n * rhythm.period_s / length for n in range(count)]
    lit_for = LIT_SHARE * rhythm.period_s / length
    moments = tuple(moment for start in starts for moment in (start, start + lit_for))
    return Keys(length, moments, (True, False) * count)
