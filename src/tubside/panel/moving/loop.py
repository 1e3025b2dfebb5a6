"""One round of all that the lamps of an indication do, to be played again and again.

A round is whole periods long: where lamps count differently it is the least common
multiple of their rounds, cut where that would be too long to watch.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import lcm

import numpy as np
from numpy.typing import NDArray

from tubside.errors import UnknownNameError
from tubside.panel.lights import STEADY, Light
from tubside.panel.rhythm import Rhythm, keys_of, rhythm_of
from tubside.panel.schema import Panel

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

LONGEST_S = 60.0
"""The longest round that anybody watches to its end (common practice, no source)."""
FINEST = 10_000
"""Rounds of different lengths are compared in ten-thousandths of a second."""
STILL_S = 1.0
"""Length of a round in which nothing changes."""


@dataclass(frozen=True, slots=True)
class Loop:
    """One round.

    Parameters
    ----------
    lamps : tuple of str
        Ids, in the panel's order.
    lights : Mapping
        Lamp id -> what it does.
    starts_s : Floats
        When each state begins, shape (states,), the first at 0, rising.
    lit : Bools
        Which lamps are lit from then on, shape (states, lamps).
    length_s : float
        Length of the round; after it the first state begins again.
    rhythm : Rhythm
        The drawn period and gap, the true rate, and whether they are slower than life.
    cut : bool
        Whether the round is shorter than the least common multiple.
    """

    lamps: tuple[str, ...]
    lights: Mapping[str, Light]
    starts_s: Floats
    lit: Bools
    length_s: float
    rhythm: Rhythm
    cut: bool

    @property
    def moves(self) -> bool:
        """Whether any lamp goes on and off by itself."""
        return len(self.starts_s) > 1


def loop_of(
    panel: Panel, indication: str, speed: float = 1.0, longest_s: float = LONGEST_S
) -> Loop:
    """One round of an indication, ``speed`` times as fast as in life but never above the limit.

    Raises
    ------
    UnknownNameError
        When the panel has no such indication.
    """
    shown = panel.indications.get(indication)
    if shown is None:
        known = ", ".join(panel.indications)
        msg = f"the {panel.name} has no indication {indication}; it has {known}"
        raise UnknownNameError(msg)
    lights = panel.lights(indication)
    rhythm = rhythm_of(lights.values(), shown.period_s, shown.gap_s, speed)
    changing = {light for light in lights.values() if light.changes}
    length, cut = round_of({keys_of(light, rhythm).length_s for light in changing}, longest_s)
    starts = states_from(changing, rhythm, length)
    lit = np.array(
        [[_lit_at(light, rhythm, start) for light in lights.values()] for start in starts], bool
    ).reshape(len(starts), len(lights))
    return Loop(tuple(lights), lights, starts, lit, length, rhythm, cut)


def round_of(lengths: set[float], longest_s: float) -> tuple[float, bool]:
    """Length of the common round of rounds of these lengths [s], and whether it was cut.

    The least common multiple, or as many whole rounds of the longest as fit.

    >>> round_of({1.1}, 60.0), round_of({5.6, 4.8}, 60.0), round_of({5.6, 4.8}, 20.0)
    ((1.1, False), (33.6, False), (16.8, True))
    """
    if not lengths:
        return STILL_S, False
    if len(lengths) == 1:
        return next(iter(lengths)), False
    whole = lcm(*(round(length * FINEST) for length in lengths)) / FINEST
    if whole <= longest_s:
        return whole, False
    longest = max(lengths)
    return round(max(int(longest_s / longest), 1) * longest, 6), True


def states_from(changing: set[Light], rhythm: Rhythm, length_s: float) -> Floats:
    """When a new state of the lamps begins, shape (states,), from 0 to before ``length_s``."""
    found = [0.0]
    for light in changing:
        keys = keys_of(light, rhythm)
        rounds = np.arange(np.ceil(length_s / keys.length_s - 1e-6))
        at = (rounds[:, None] + np.array(keys.moments)) * keys.length_s
        found += [float(moment) for moment in at.ravel() if moment < length_s - 1e-6]
    return np.unique(np.round(found, 6))


def _lit_at(light: Light, rhythm: Rhythm, moment: float) -> bool:
    if not light.changes:
        return light == STEADY
    keys = keys_of(light, rhythm)
    share = (moment + 2e-6) % keys.length_s / keys.length_s
    return keys.lit[int(np.searchsorted(keys.moments, share, side="right")) - 1]


def most_flashes(starts_s: Floats, lit: Bools, length_s: float) -> int:
    """The most flashes that begin within any one second of a loop played again and again.

    A flash begins when a lamp goes from dark to lit; lamps that light together make one
    flash (WCAG 2.2, success criterion 2.3.1, and its definition of "general flash").

    >>> most_flashes(np.array([0.0, 0.1]), np.array([[True], [False]]), 0.25)
    4
    """
    risen = (lit & ~np.roll(lit, 1, axis=0)).any(axis=1)
    once = starts_s[risen]
    rounds = np.arange(int(1 / length_s) + 3)
    rises = (rounds[:, None] * length_s + once).ravel()
    return max((int(((rises >= at) & (rises < at + 1 - 1e-9)).sum()) for at in rises), default=0)
