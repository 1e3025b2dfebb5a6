"""The wash: what the drive has to move, by load and level, and what detergent foams."""

from __future__ import annotations

import numpy as np

from tubside.machine.basket import BASKET_DEPTH
from tubside.machine.circuit import strength_of_mains
from tubside.machine.draws import Values
from tubside.machine.inlet import HALF
from tubside.pack.fault_model import Floats
from tubside.physics import wash
from tubside.physics.suds import suds_share

AGITATOR_SHARE = 0.8
"""Radius of agitator or plate by that of the basket [1] (common practice, no source)."""
MECHANISM = 3.0
"""Torque for the water, seals and gears with no load at all [N m] (the same)."""
BASKET_ALONG = 8.0
"""Torque more where the basket has to be turned with the agitator [N m] (the same)."""
TUMBLING_LEVER = 0.35
"""Lever of a tumbling load by the drum's radius [1] (common practice, no source)."""
WATER_HELD = 2.0
"""Water in wet laundry by its dry mass [1] (common practice, no source)."""
SUDS_STAY = 0.5
"""Share of the suds that the drain leaves about the basket [1] (own choice, no source)."""
RINSED_AWAY = 0.3
"""Share of the suds that a rinse leaves [1] (own choice, no source)."""


def torque_needed(values: Values, level: Floats) -> Floats:
    """Torque that moves the load at a level [N m].

    Standing axis: the load lies as loosely as in a full drum; what of it
    the water does not carry rests on the agitator; one that
    the basket does not come free of turns the basket as well. Lying: the drum lifts it all.
    """
    load, radius = values["load_mass"], np.clip(values["basket_radius"], 0.05, 1.0)
    height = wash.soaked_height(load, np.pi * np.square(radius), wash.DRUM_PER_LOAD)
    depth = np.clip(level - values["basket_bottom"], -2.0, 2.0)
    covered = wash.covered_share(depth, np.minimum(height, 2.0))
    weight = wash.resting_weight(load, covered, WATER_HELD)
    standing = wash.agitation_torque(weight, AGITATOR_SHARE * radius)
    standing = standing + BASKET_ALONG * (1.0 - values["clutch_engages"])
    tumbled = wash.tumbling_torque(load * (1.0 + WATER_HELD), radius, TUMBLING_LEVER)
    return MECHANISM + np.where(values["lying"] > HALF, tumbled, standing)


def drive_margin(values: Values, level: Floats) -> Floats:
    """How many times the drive's torque covers what is needed [1]; drag counts against it."""
    there = values["agitation_torque"] * strength_of_mains(values) - values["bearing_drag"]
    return wash.torque_margin(np.maximum(there, 0.0), torque_needed(values, level))


def dose(values: Values) -> Floats:
    """Detergent by what this water and load need [1]: soft water needs less than medium."""
    load = np.clip(values["load_mass"], 0.0, 30.0)
    here = wash.right_dose(load, np.clip(values["hardness"], 0.0, 10.0))
    return np.asarray(values["detergent"] * wash.right_dose(load, wash.STANDARD_HARDNESS) / here)


def suds_height(values: Values, rinses: float) -> Floats:
    """Height of suds between the bowls after a drain and so many rinses [m]."""
    full = suds_share(np.clip(dose(values), 0.0, 100.0))
    return np.asarray(SUDS_STAY * RINSED_AWAY**rinses * BASKET_DEPTH * full)
