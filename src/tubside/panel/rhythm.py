"""When lamps light and go dark in a drawing, never faster than three times a second.

Flashing light can bring on seizures; the limit is WCAG 2.2, success criterion 2.3.1
(three flashes or below), kept here for lamps of any size. Faster models are drawn slower.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tubside.panel.lights import Light

MOST_FLASHES_PER_S = 3.0
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


@dataclass(frozen=True, slots=True)
class Keys:
    """One round of a lamp: length [s], moments as shares of it, lit or dark from each."""

    length_s: float
    moments: tuple[float, ...]
    lit: tuple[bool, ...]


def rhythm_of(lights: Iterable[Light], period_s: float | None, gap_s: float | None) -> Rhythm:
    """The drawn rhythm of lamps that are shown together.

    Lamps of different counts drift against each other, so their flashes add up: the
    period is drawn out until all of them together stay within the limit.
    """
    trains = len({light for light in lights if light.changes})
    period = period_s or PERIOD_S
    shortest = trains / MOST_FLASHES_PER_S
    stretch = max(1.0, shortest / period)
    return Rhythm(
        period_s=period * stretch,
        gap_s=(gap_s or GAP_S) * stretch,
        true_hz=1 / period,
        slowed=stretch > 1,
    )


def keys_of(light: Light, rhythm: Rhythm) -> Keys:
    """One round of a changing lamp: one flash, or a count and its gap."""
    count = max(light.count, 1)
    gap = rhythm.gap_s if light.kind == "blinks" else 0.0
    length = count * rhythm.period_s + gap
    starts = [n * rhythm.period_s / length for n in range(count)]
    lit_for = LIT_SHARE * rhythm.period_s / length
    moments = tuple(moment for start in starts for moment in (start, start + lit_for))
    return Keys(length, moments, (True, False) * count)
