"""The basket that floats: how deep it lies, how far it rises, when the clutch lets go.

Archimedes: a body sinks until the water it pushes aside weighs as much as itself (White,
Fluid Mechanics, section 2.8). Heights [m] are over the underside of the basket's float at
rest; the float's walls stand upright.
"""

from __future__ import annotations

import numpy as np

from tubside.physics.validity import Floats, Number, within

WATER = 1000.0
"""Density of water to 0.8 % from 0 to 40 C [kg/m3]."""


def draught(mass: Number, area: Number, density: Number = WATER) -> Floats:
    """Depth [m] to which a mass [kg] on an area [m2] lies in the water: m / (rho A).

    Examples
    --------
    >>> round(float(draught(5.0, 0.12)) * 1000, 1)
    41.7
    """
    weight = within("mass", mass, 0.0, 1e4, "kg")
    water = within("density", density, 900.0, 1100.0, "kg/m3")
    return np.asarray(weight / (water * within("area", area, 1e-4, 10.0, "m2")))


def basket_rise(
    level: Number, mass: Number, area: Number, travel: Number, density: Number = WATER
) -> Floats:
    """How far [m] the basket has floated up at a water ``level`` [m]: level - draught.

    Not below 0 (it stands) and not above ``travel`` [m] (its stop). ``mass`` [kg] is what the
    float has to carry: the basket and the laundry that leans on it.

    Examples
    --------
    >>> round(float(basket_rise(0.05, 5.0, 0.12, 0.02)), 4)
    0.0083
    """
    depth = within("level", level, -5.0, 5.0, "m") - draught(mass, area, density)
    return np.asarray(np.clip(depth, 0.0, within("travel", travel, 0.0, 1.0, "m")))


def engagement_level(mass: Number, area: Number, lift: Number, density: Number = WATER) -> Floats:
    """Water level [m] at which the basket has risen by ``lift`` [m] and the clutch changes.

    Filling, the agitator comes free of the basket above this level; draining, the basket
    drops onto its clutch below it.

    Examples
    --------
    >>> round(float(engagement_level(5.0, 0.12, 0.012)), 4)
    0.0537
    """
    return np.asarray(draught(mass, area, density) + within("lift", lift, 0.0, 1.0, "m"))
