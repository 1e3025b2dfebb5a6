"""Emptying a tub: the drain pump against lift and hose, the time it takes, the siphon.

The pump's head falls with the square of the flow, H = s H0 - H0 (Q/Q0)^2 (a parabola, the
usual fit for a small centrifugal pump: common practice, no source). ``s`` is its strength: a
worn, slow or air-bound pump of speed n has s = n^2, which moves both ends of the curve as
the affinity laws ask.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.physics import restrictions, water
from tubside.physics.pipes import Pipe, pipe_factor
from tubside.physics.standard import ATMOSPHERE, STANDARD_GRAVITY
from tubside.physics.validity import Floats, Number, within

SETTLING_STEPS = 3
WARM = 303.15
USUAL_HOSE = Pipe(bore=0.019, length=2.0, roughness=0.2e-3)


@dataclass(frozen=True, slots=True)
class DrainPump:
    """A drain pump: head at no flow [m], flow at no head [m3/s], strength 0 (dead) to 1."""

    head: Number
    flow: Number
    strength: Number = 1.0


@dataclass(frozen=True, slots=True)
class DrainLine:
    """Strainer and drain hose as built (sizes: common practice, no source).

    ``ends`` is the sum of losses K of inlet, bends and outlet on the speed in the hose.
    """

    hose: Pipe = USUAL_HOSE
    ends: Number = 3.0


USUAL_LINE = DrainLine()


def pump_head(pump: DrainPump, flow: Number) -> Floats:
    """Head [m] of the pump at a flow [m3/s]: s H0 - H0 (Q/Q0)^2; below none it brakes.

    Examples
    --------
    >>> round(float(pump_head(DrainPump(2.0, 5e-4), 2.5e-4)), 2)
    1.5
    """
    strength = within("strength of the pump", pump.strength, 0.0, 1.0, "1")
    return np.asarray(pump.head * (strength - np.square(np.asarray(flow) / pump.flow)))


def at_other_speed(
    flow: Number, head: Number, power: Number, ratio: Number
) -> tuple[Floats, Floats, Floats]:
    """Flow, head and power of a pump at ``ratio`` times its speed: times n, n^2, n^3.

    Pump (affinity) laws: DOE-HDBK-1012/3-92, Fluid Flow, HT-03 p. 50, equations 3-23 to
    3-25. Same impeller, same water, no cavitation; 0.2 to 5 times the speed (beyond it the
    efficiency changes).

    Examples
    --------
    >>> [float(x) for x in at_other_speed(400.0, 48.0, 45.0, 2.0)]
    [800.0, 192.0, 360.0]
    """
    n = within("ratio of speeds", ratio, 0.2, 5.0, "1")
    return np.asarray(flow * n), np.asarray(head * n**2), np.asarray(power * n**3)


def drain_flow(
    pump: DrainPump,
    lift: Number,
    drain_open: Number = 1.0,
    line: DrainLine = USUAL_LINE,
    temperature: Number = WARM,
) -> Floats:
    """Flow [m3/s] at which the pump's head is lift plus losses; 0 where it cannot lift.

    Parameters
    ----------
    pump
        The pump; one that stands still (strength 0) is a passage with its own resistance.
    lift
        Height of the drain hose's end over the water in the tub [m], -3 to 10; negative
        where the hose ends below the water and runs full (siphon).
    drain_open
        Open area of pump, strainer and hose together, 0 (blocked) to 1 (as built).
    line
        Strainer and hose as built.
    temperature
        Of the water [K].

    Raises
    ------
    OutsideRangeError
        If lift, opening, strength or temperature lies outside its range.

    Examples
    --------
    >>> round(float(drain_flow(DrainPump(2.0, 6e-4), 0.9)) * 60e3, 1)
    19.7
    """
    spare = _spare_head(pump, lift)
    return np.asarray(np.sqrt(spare / _resistance(pump, spare, drain_open, line, temperature)))


def standing_level(pump: DrainPump, end_height: Number) -> Floats:
    """Depth [m] that the pump cannot lift out; the hose ends ``end_height`` [m] over the floor.

    Examples
    --------
    A pump of 0.6 m left of 2 m under a hose at 0.9 m leaves 0.3 m standing:

    >>> round(float(standing_level(DrainPump(2.0, 6e-4, 0.3), 0.9)), 3)
    0.3
    """
    strength = within("strength of the pump", pump.strength, 0.0, 1.0, "1")
    return np.asarray(np.maximum(np.asarray(end_height) - strength * pump.head, 0.0))


@dataclass(frozen=True, slots=True)
class Emptying:
    """A tub with upright walls and its way out.

    ``area`` [m2] of the water, ``end_height`` [m] of the hose's end over the tub's floor.
    """

    pump: DrainPump
    area: Number
    end_height: Number
    drain_open: Number = 1.0
    line: DrainLine = USUAL_LINE
    temperature: Number = WARM


def drain_time(tub: Emptying, start: Number, end: Number = 0.0) -> Floats:
    """Time [s] from depth ``start`` down to ``end`` [m]; infinite if it is never reached.

    With Q = sqrt(y/c), y = s H0 - lift + depth and A dy/dt = -Q the time is
    2 A sqrt(c) (sqrt(y1) - sqrt(y2)). ``c`` holds the hose's friction at the middle of the
    way, which alters the time by less than 1 %.

    Examples
    --------
    >>> round(float(drain_time(Emptying(DrainPump(2.0, 6e-4), 0.25, 0.9), 0.20)))
    146
    """
    high, low = _heads(tub, start, end)
    passage = np.sqrt(_middle_resistance(tub, high, low))
    reached = np.where(np.asarray(start) <= end, 0.0, np.inf)
    spent = np.sqrt(np.maximum(high, 0.0)) - np.sqrt(np.maximum(low, 0.0))
    with np.errstate(invalid="ignore"):
        seconds = (
            2.0
            * within("area of the tub", tub.area, 1e-4, 10.0, "m2")
            * passage
            * np.maximum(spent, 0.0)
        )
    return np.asarray(np.where((low > 0.0) & np.isfinite(seconds), seconds, reached))


def depth_after(tub: Emptying, start: Number, seconds: Number) -> Floats:
    """Depth [m] left after draining for ``seconds`` from depth ``start``; inverse of the time.

    Examples
    --------
    >>> tub = Emptying(DrainPump(2.0, 6e-4), 0.25, 0.9)
    >>> round(float(depth_after(tub, 0.20, drain_time(tub, 0.20, 0.05))), 3)
    0.05
    """
    high, low = _heads(tub, start, 0.0)
    passage = np.sqrt(_middle_resistance(tub, high, low))
    area = within("area of the tub", tub.area, 1e-4, 10.0, "m2")
    gone = within("time", seconds, 0.0, 1e7, "s") / (2.0 * area * passage)
    left = np.square(np.maximum(np.sqrt(np.maximum(high, 0.0)) - gone, 0.0))
    fallen = np.maximum(np.maximum(high, 0.0) - left, 0.0)
    return np.asarray(np.maximum(np.asarray(start) - fallen, 0.0))


def siphon_speed(drop: Number, loss: Number = 0.0) -> Floats:
    """Speed [m/s] in a full siphon that ends ``drop`` [m] below the water.

    Torricelli with losses: v = sqrt(2 g drop / (1 + K)) (White, Fluid Mechanics, section
    3.5); ``loss`` K holds friction f L/D and bends.

    Examples
    --------
    >>> round(float(siphon_speed(0.5)), 4)
    3.1316
    """
    fall = within("drop", drop, 0.0, 10.0, "m")
    return np.asarray(np.sqrt(2.0 * STANDARD_GRAVITY * fall / (1.0 + np.asarray(loss))))


def siphon_height_limit(temperature: Number = WARM, air: Number = ATMOSPHERE) -> Floats:
    """Height [m] over the water above which no siphon runs: (p_air - p_vapour)/(rho g).

    Vapour pressure by Magnus (WMO-No. 8, Guide to Instruments, annex 4.B): 611.2 Pa
    exp(17.62 t/(243.12 + t)), within 1 % to 60 C.

    Examples
    --------
    >>> round(float(siphon_height_limit(293.15)), 1)
    10.1
    """
    warm = within("temperature", temperature, 273.15, 333.15, "K") - 273.15
    vapour = 611.2 * np.exp(17.62 * warm / (243.12 + warm))
    weight = water.density(temperature) * STANDARD_GRAVITY
    return np.asarray(np.maximum(np.asarray(air) - vapour, 0.0) / weight)


def _spare_head(pump: DrainPump, lift: Number) -> Floats:
    """Head left over for losses [m], none if the pump cannot lift."""
    strength = within("strength of the pump", pump.strength, 0.0, 1.0, "1")
    return np.maximum(strength * pump.head - within("lift", lift, -3.0, 10.0, "m"), 0.0)


def _heads(tub: Emptying, start: Number, end: Number) -> tuple[Floats, Floats]:
    """Spare head [m] at depth ``start`` and ``end``, negative where it cannot lift."""
    strength = within("strength of the pump", tub.pump.strength, 0.0, 1.0, "1")
    deep = within("depth", start, 0.0, 5.0, "m")
    spare = strength * tub.pump.head - within("height of the end", tub.end_height, -2.0, 9.0, "m")
    return np.asarray(spare + deep), np.asarray(spare + within("depth", end, 0.0, 5.0, "m"))


def _middle_resistance(tub: Emptying, high: Floats, low: Floats) -> Floats:
    middle = 0.5 * (np.maximum(high, 0.0) + np.maximum(low, 0.0))
    return _resistance(tub.pump, middle, tub.drain_open, tub.line, tub.temperature)


def _resistance(
    pump: DrainPump, spare: Floats, drain_open: Number, line: DrainLine, temperature: Number
) -> Floats:
    """Head by square of the flow [m/(m3/s)^2], of pump, narrowing and hose at a spare head."""
    share = within("opening of the drain", drain_open, 0.0, 1.0, "1")
    thin = water.viscosity(temperature) / water.density(temperature)
    most = within("flow of the pump at no head", pump.flow, 1e-7, 1.0, "m3/s")
    own = np.asarray(within("head of the pump", pump.head, 0.0, 50.0, "m") / np.square(most))
    area = line.hose.area
    by_head = 1.0 / (2.0 * STANDARD_GRAVITY * np.square(area))
    fixed = own + (line.ends + restrictions.narrowing_loss(share)) * by_head
    total = np.asarray(fixed)
    for _ in range(SETTLING_STEPS):
        speed = np.sqrt(spare / total) / area
        total = np.asarray(fixed + pipe_factor(line.hose, speed, thin) * by_head)
    return total
