"""Air in a duct: what it loses on the way, what a fan gives, where the two meet.

As for water, a *resistance* r [Pa s2/m6] is the pressure lost by the square of the flow, a
*loss* K that in units of rho v^2 / 2. At the pressures here (below 1 kPa) air is taken as
not compressible.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.physics import moist_air
from tubside.physics.pipes import Pipe, pipe_factor
from tubside.physics.restrictions import loss_resistance
from tubside.physics.validity import Floats, Number, within

SMOOTH, FLEXIBLE = 0.09e-3, 3e-3
"""Roughness [m] of sheet metal with joints and of a flexible hose pulled straight (ASHRAE
Fundamentals, chapter "Duct design", table of roughness factors, categories "average" and
"rough", from memory)."""
EXIT = 1.0
"""Loss K of air that leaves a duct (White, Fluid Mechanics, section 6.9)."""
BEND = 0.33
"""Loss K of a bend of 90 degrees in a smooth duct: worked out from the 5 ft of 4 in duct for
which building codes let it count (IRC 2012, table M1502.4.4.1, second hand), f = 0.022."""
FACTOR_STEPS = 4


@dataclass(frozen=True, slots=True)
class Fan:
    """A fan by the two ends of its curve: pressure at no flow [Pa], flow at no pressure [m3/s]."""

    pressure: Number
    flow: Number

    @property
    def resistance(self) -> Floats:
        """What the fan's own curve falls by the square of the flow [Pa s2/m6]."""
        flow = within("flow of the fan", self.flow, 1e-6, 100.0, "m3/s")
        return np.asarray(self.pressure / np.square(flow))


@dataclass(frozen=True, slots=True)
class Air:
    """The air that is moved: density [kg/m3] and viscosity [Pa s]."""

    density: Number
    viscosity: Number

    @property
    def kinematic(self) -> Floats:
        """Kinematic viscosity [m2/s]."""
        return np.asarray(np.asarray(self.viscosity) / self.density)


def air_at(temperature: Number, ratio: Number = 0.0) -> Air:
    """Air of a temperature [K] and humidity ratio [kg/kg] at one atmosphere."""
    return Air(moist_air.density(temperature, ratio), moist_air.viscosity(temperature))


def velocity_pressure(velocity: Number, density: Number) -> Floats:
    """Pressure of moving air [Pa]: rho v^2 / 2 (Bernoulli).

    Examples
    --------
    A duct calculation that follows ASHRAE's chapter prints 31 Pa for 7.14 m/s and 1.204:

    >>> round(float(velocity_pressure(7.14, 1.204)))
    31
    """
    return np.asarray(0.5 * np.asarray(density) * np.square(velocity))


def duct_loss(duct: Pipe, flow: Number, air: Air, losses: Number = 0.0) -> Floats:
    """Pressure [Pa] that a round duct and its fittings take at a flow [m3/s].

    Darcy-Weisbach and the sum of fittings: dp = (f L/D + sum K) rho v^2 / 2 (White, Fluid
    Mechanics, equations 6.10 and 6.78; ASHRAE Fundamentals, chapter "Duct design"), f by
    Colebrook as in :mod:`tubside.physics.pipes`.

    Examples
    --------
    A duct of 254.5 mm at 7.14 m/s, roughness 0.09 mm, there 2.3 Pa for a metre:

    >>> duct = Pipe(0.2545, 1.0, 0.09e-3)
    >>> round(float(duct_loss(duct, 7.14 * duct.area, Air(1.204, 1.812e-5))), 1)
    2.3
    """
    velocity = np.asarray(flow) / duct.area
    heads = pipe_factor(duct, velocity, air.kinematic) + losses
    return np.asarray(heads * velocity_pressure(velocity, air.density))


def equivalent_length(loss: Number, bore: Number, factor: Number) -> Floats:
    """Length [m] of straight duct that takes as much as a fitting of loss K: K D / f.

    White, Fluid Mechanics, section 6.9; f is the friction factor of the duct.

    Examples
    --------
    The 5 ft of :data:`BEND`, in metres:

    >>> round(float(equivalent_length(BEND, 0.1016, 0.022)), 2)
    1.52
    """
    return np.asarray(np.asarray(loss) * bore / within("friction factor", factor, 1e-3, 1.0, "1"))


def fan_pressure(fan: Fan, flow: Number) -> Floats:
    """Pressure [Pa] that a fan gives at a flow [m3/s]: p0 (1 - (Q/Q0)^2).

    A falling parabola through both ends of the curve, for a small blower with radial or
    forward-curved blades (White, Fluid Mechanics, section 11.3, draws pumps so; our choice
    for fans, whose true curve may sag or hump in the middle).

    Examples
    --------
    >>> round(float(fan_pressure(Fan(300.0, 0.08), 0.04)), 6)
    225.0
    """
    return np.asarray(fan.pressure - fan.resistance * np.square(flow))


def operating_flow(fan: Fan, resistance: Number) -> Floats:
    """Flow [m3/s] at which a fan gives what a way of ``resistance`` takes.

    p0 (1 - (Q/Q0)^2) = r Q^2, so Q = sqrt(p0 / (p0/Q0^2 + r)); none through a shut way, none
    by a fan without pressure (operating point: White, Fluid Mechanics, section 11.6).

    Examples
    --------
    >>> float(operating_flow(Fan(300.0, 0.1), 0.0)), float(operating_flow(Fan(300.0, 0.1), np.inf))
    (0.1, 0.0)
    """
    whole = np.maximum(fan.resistance + np.asarray(resistance), np.finfo(float).tiny)
    return np.asarray(np.sqrt(np.asarray(fan.pressure) / whole))


def duct_resistance(duct: Pipe, flow: Number, air: Air, losses: Number) -> Floats:
    """Resistance [Pa s2/m6] of a duct with its fittings, as its friction is at a flow [m3/s]."""
    moved = np.maximum(np.asarray(flow, dtype=float), 1e-5)
    heads = pipe_factor(duct, moved / duct.area, air.kinematic) + losses
    return loss_resistance(heads, duct.area, air.density)


def flow_through(fan: Fan, duct: Pipe, air: Air, losses: Number, inside: Number) -> Floats:
    """Flow [m3/s] of a fan through its own machine and a duct, friction and flow in agreement.

    The friction factor hangs a little on the flow: four rounds settle it to 1e-4 of the flow
    where the duct is rough or turbulent (held by a test).

    Parameters
    ----------
    losses
        Sum of K of the duct's fittings, on its own area; infinite where it is shut.
    inside
        Resistance of filter, drum and heater [Pa s2/m6].
    """
    flow = operating_flow(fan, inside)
    for _ in range(FACTOR_STEPS):
        flow = operating_flow(fan, np.asarray(inside) + duct_resistance(duct, flow, air, losses))
    return flow


def flow_of_speed(speed: Number, area: Number, profile: Number = 1.0) -> Floats:
    """Flow [m3/s] of a mean air speed [m/s] in an area [m2]; ``profile`` is mean by centre.

    Examples
    --------
    8 m/s in a round duct of 100 mm, in m3/h:

    >>> round(float(flow_of_speed(8.0, 0.00785398)) * 3600)
    226
    """
    return np.asarray(np.asarray(speed) * area * within("profile", profile, 0.1, 1.0, "1"))


def warmed_by(power: Number, dry_flow: Number, ratio: Number = 0.0) -> Floats:
    """Rise [K] of air that takes up ``power`` [W], its dry air flowing at [kg/s]: P / (m c).

    First law for steady flow, no work, no loss (Cengel and Boles, Thermodynamics, chapter 5).

    Examples
    --------
    A hair dryer's 900 W and 25 K take 0.0358 kg/s:

    >>> round(float(warmed_by(900.0, 0.0358)), 1)
    25.0
    """
    given = within("power", power, 0.0, 1e5, "W")
    moved = np.maximum(np.asarray(dry_flow, dtype=float), 1e-9)
    return np.asarray(given / (moved * moist_air.heat_capacity(ratio)))
