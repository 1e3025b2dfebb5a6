"""The basket in the spin: what drives it, what holds it back, how far it swings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.machine.circuit import strength_of_mains
from tubside.machine.draws import Values
from tubside.pack.fault_model import Floats
from tubside.physics import spin as physics
from tubside.physics.basket_drag import reached_speed, water_torque
from tubside.physics.standard import STANDARD_GRAVITY
from tubside.physics.suds import suds_torque
from tubside.physics.suspension import natural_frequency

RAMP = 1.2
"""Gain of speed that the controller asks for [rad/s2] (common practice, no source)."""
WINDAGE = 5e-5
"""Drag of the air on the basket by speed squared [N m s2] (own choice, no source)."""
BASKET_DEPTH = 0.33
"""Height of the gap between the bowls that suds can fill [m] (common practice, no source)."""
ROCKING = 3.0
"""A cabinet that rocks on two feet adds so many times its swing (own choice)."""
CABINET = 25.0
"""Mass of what does not swing [kg] (common practice, no source)."""
FRICTION = 0.4
"""Of rubber feet on a laundry floor [1] (common practice, no source)."""
SLOWEST_RAMP = 1e-3
"""A spin that gains less [rad/s2] counts as standing at that speed."""
WET = 2.0
"""Mass of wet laundry by that of dry at the start of a spin [1] (common practice, no source)."""


def drive_torque(values: Values) -> Floats:
    """Torque that reaches the basket in spin [N m], at the mains of this site."""
    return values["spin_torque"] * strength_of_mains(values)


@dataclass(frozen=True, slots=True)
class Drag:
    """What holds the basket back [N m], part by part; arrays (D,)."""

    bearings: Floats
    air: Floats
    water: Floats
    suds: Floats

    @property
    def whole(self) -> Floats:
        """All of it."""
        return np.asarray(self.bearings + self.air + self.water + self.suds)

    def slope(self, speed: Floats) -> Floats:
        """About how much it grows with speed [N m s]: air w^2, water w^1.8, suds w^0.5.

        Only steadies the steps of a spin; a slope of its own for every part would cost more
        than it gives.
        """
        parts = 2.0 * self.air + 1.8 * self.water + 0.4 * self.suds
        return np.asarray(parts / np.maximum(speed, 1.0))


def drag(values: Values, speed: Floats, water: Floats, suds: Floats) -> Drag:
    """Torques that hold the basket back at a speed [rad/s].

    Parameters
    ----------
    values
        D machines.
    speed
        (D,) [rad/s].
    water
        Depth of water over the basket's bottom [m]; negative where it does not reach it.
    suds
        Height of suds in the gap [m].
    """
    radius = np.clip(values["basket_radius"], 0.01, 1.0)
    return Drag(
        bearings=values["bearing_drag"],
        air=WINDAGE * np.square(speed),
        water=water_torque(speed, radius, np.clip(water, -2.0, 2.0)),
        suds=suds_torque(speed, radius, np.clip(suds, 0.0, 2.0)),
    )


def empty_spin_speed(values: Values) -> Floats:
    """Speed [rad/s] that the empty basket reaches, no water and no suds."""
    return reached_speed(
        values["spin_speed"],
        drive_torque(values),
        lambda speed: values["bearing_drag"] + WINDAGE * np.square(speed),
    )


def inertia(values: Values) -> Floats:
    """Moment of inertia [kg m2] of basket and wet laundry at its wall."""
    wet = WET * values["load_mass"]
    return values["basket_inertia"] + wet * np.square(values["basket_radius"])


def swinging_mass(values: Values) -> Floats:
    """All that swings on the suspension [kg]: tub, basket and wet laundry."""
    return values["suspended_mass"] + WET * values["load_mass"]


def frequency(values: Values) -> Floats:
    """Natural frequency of the suspension with its load [rad/s]."""
    return natural_frequency(values["spring_stiffness"], swinging_mass(values))


def _unbalance(values: Values) -> Floats:
    """Mass off the axis times its distance [kg m], a rocking cabinet's share added."""
    rocking = 1.0 + ROCKING * (1.0 - values["levelness"])
    return values["load_offset"] * values["basket_radius"] * rocking


def swing_at(values: Values, speed: Floats) -> Floats:
    """Swing of the tub [m] at a steady speed [rad/s]."""
    ratio = speed / frequency(values)
    damping = np.maximum(values["damping_ratio"], 1e-3)
    return physics.amplitude(_unbalance(values), swinging_mass(values), ratio, damping)


def passage_swing(values: Values, gain: Floats) -> Floats:
    """Largest swing [m] on the way up through resonance at a gain of speed [rad/s2]."""
    own = frequency(values)
    usable = np.clip(gain, SLOWEST_RAMP, np.square(0.3 * own))
    damping = np.maximum(values["damping_ratio"], 1e-3)
    return physics.passage_amplitude(
        _unbalance(values), swinging_mass(values), own, damping, usable
    )


def walks(values: Values, speed: Floats) -> Floats:
    """Force on the floor over the force at which the feet slip [1], at a steady speed.

    Rods and legs hold by friction, whose force does not grow with speed: above resonance
    their damping ratio counts as zeta / r (equivalent damping 4 F / (pi w X); Thomson,
    Theory of Vibration with Applications, section 3.9; from memory).
    """
    ratio = speed / frequency(values)
    damping = values["damping_ratio"] / np.maximum(ratio, 1.0)
    force = physics.floor_force(swing_at(values, speed), values["spring_stiffness"], ratio, damping)
    standing = (swinging_mass(values) + CABINET) * STANDARD_GRAVITY
    return np.asarray(force / physics.slip_force(standing, FRICTION))
