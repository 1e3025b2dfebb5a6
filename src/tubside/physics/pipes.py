"""Friction in full pipes and hoses: Darcy-Weisbach with Colebrook-White."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.physics.standard import STANDARD_GRAVITY
from tubside.physics.validity import Floats, Number, within

LAMINAR = 2000.0
TURBULENT = 4000.0
FASTEST = 1e8
BORES = (1e-4, 10.0)  # m


@dataclass(frozen=True, slots=True)
class Pipe:
    """A round pipe or hose: bore, length and roughness, all [m]."""

    bore: Number
    length: Number
    roughness: Number = 1.5e-6

    @property
    def area(self) -> Floats:
        """The open area [m2]."""
        return np.asarray(0.25 * np.pi * np.square(self.bore))


def reynolds(velocity: Number, bore: Number, kinematic_viscosity: Number) -> Floats:
    """Reynolds number: velocity [m/s] times bore [m] by kinematic viscosity [m2/s].

    Examples
    --------
    >>> round(float(reynolds(1.0, 0.010, 1.0e-6)))
    10000
    """
    wide = within("bore", bore, *BORES, "m")
    thin = within("kinematic viscosity", kinematic_viscosity, 1e-8, 1.0, "m2/s")
    return np.asarray(np.abs(velocity) * wide / thin)


def friction_factor(reynolds_number: Number, relative_roughness: Number) -> Floats:
    """Darcy friction factor f of a full round pipe, of its Reynolds number and k/D.

    Laminar up to Re 2000: f = 64/Re (Hagen-Poiseuille). Turbulent from Re 4000:
    1/sqrt(f) = -2 log10(k/D/3.7 + 2.51/(Re sqrt(f))) (Colebrook 1939, J. Inst. Civ. Eng. 11,
    133-156; White, Fluid Mechanics, section 6.6), started by Haaland's formula (1983, J.
    Fluids Eng. 105, 89-90) and taken to the last digit by two steps of Newton. Between them
    the flow has no settled state; f then runs straight from one to the other, so that a loss
    always rises with the flow (our choice, no source).

    Parameters
    ----------
    reynolds_number
        Above 0, to 1e8; below 1e-3 the factor of 1e-3 is given.
    relative_roughness
        Roughness by bore, 0 to 0.05.

    Raises
    ------
    OutsideRangeError
        If a value lies outside its range.

    Examples
    --------
    >>> round(float(friction_factor(1e5, 1e-4)), 7)
    0.0185139
    >>> float(friction_factor(640.0, 0.0))
    0.1
    """
    number = np.maximum(within("Reynolds number", reynolds_number, 0.0, FASTEST, "1"), 1e-3)
    rough = within("relative roughness", relative_roughness, 0.0, 0.05, "1")
    fast = _colebrook(np.maximum(number, TURBULENT), rough)
    slow = 64.0 / np.minimum(number, LAMINAR)
    share = np.clip((number - LAMINAR) / (TURBULENT - LAMINAR), 0.0, 1.0)
    return np.asarray(slow + share * (fast - slow))


def _colebrook(number: Floats, rough: Floats) -> Floats:
    bend, wall = 2.51 / number, rough / 3.7
    x = -1.8 * np.log10(wall**1.11 + 6.9 / number)  # Haaland, for 1/sqrt(f)
    for _ in range(2):
        inside = wall + bend * x
        slope = 1.0 + (2.0 / np.log(10.0)) * bend / inside
        x = x - (x + 2.0 * np.log10(inside)) / slope
    return np.asarray(1.0 / np.square(x))


def head_loss(pipe: Pipe, velocity: Number, kinematic_viscosity: Number) -> Floats:
    """Head [m] lost to friction in a full pipe at a mean velocity [m/s].

    Darcy-Weisbach: h = f (L/D) v^2 / (2 g) (White, Fluid Mechanics, equation 6.10).

    Examples
    --------
    Oil in 500 m of 200 mm pipe (White, example 6.7, there from the Moody chart 117 m):

    >>> oil_pipe = Pipe(bore=0.2, length=500.0, roughness=0.26e-3)
    >>> round(float(head_loss(oil_pipe, 6.366, 1e-5)), 1)
    117.4
    """
    factor = pipe_factor(pipe, velocity, kinematic_viscosity)
    return np.asarray(factor * np.square(velocity) / (2.0 * STANDARD_GRAVITY))


def pipe_factor(pipe: Pipe, velocity: Number, kinematic_viscosity: Number) -> Floats:
    """Friction of a whole pipe in velocity heads: f L/D, a plain number.

    Examples
    --------
    >>> round(float(pipe_factor(Pipe(0.010, 1.5), 3.0, 1.0e-6)), 2)
    3.58
    """
    number = reynolds(velocity, pipe.bore, kinematic_viscosity)
    rough = np.asarray(pipe.roughness, dtype=float) / pipe.bore
    return np.asarray(friction_factor(number, rough) * pipe.length / pipe.bore)


def velocity_of_slope(
    slope: Number, bore: Number, roughness: Number, kinematic_viscosity: Number
) -> Floats:
    """Mean velocity [m/s] in a full pipe that loses ``slope`` metres of head a metre.

    Colebrook-White solved for the velocity, no iteration (Hamill, Understanding Hydraulics,
    equation 6.19): v = -2 sqrt(2 g D S) log10(k/(3.7 D) + 2.51 nu/(D sqrt(2 g D S))).
    Turbulent flow only.

    Raises
    ------
    OutsideRangeError
        If the flow that comes out has a Reynolds number outside 4000 to 1e8, or the slope is
        negative.

    Examples
    --------
    >>> round(float(velocity_of_slope(1 / 250, 1.2, 0.6e-3, 1.005e-6)), 3)
    2.361
    """
    steep = within("slope", slope, 0.0, 1e6, "1")
    wide = within("bore", bore, *BORES, "m")
    thin = within("kinematic viscosity", kinematic_viscosity, 1e-8, 1.0, "m2/s")
    driving = np.sqrt(2.0 * STANDARD_GRAVITY * wide * steep)
    bend = 2.51 * thin / (wide * np.maximum(driving, np.finfo(float).tiny))
    velocity = np.asarray(-2.0 * driving * np.log10(np.asarray(roughness) / (3.7 * wide) + bend))
    number = reynolds(velocity, bore, kinematic_viscosity)
    within("Reynolds number", np.where(velocity > 0, number, 0.0), TURBULENT, FASTEST, "1")
    return velocity
