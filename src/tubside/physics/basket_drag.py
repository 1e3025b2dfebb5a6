"""What holds a spinning basket back: water at its bottom and wall, and how fast it then runs.

Water left in the tub drags on the basket like a turning disc and drum. Holes and ribs drag
more than the smooth walls of these formulas, a tub's bottom close below drags less: to be
trusted to a factor of two.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from tubside.physics.validity import Floats, Number, within

WATER = 998.2
VISCOSITY = 1.0e-3
"""Water at 20 C [kg/m3], [Pa s]: IAPWS, to 0.3 %."""

_HALVINGS = 40


def disc_torque(speed: Number, radius: Number) -> Floats:
    """Torque [N m] of water on one side of a smooth disc: 0.0365 rho w^2 R^5 Re^(-1/5).

    Turbulent, Re = w R^2 / nu from 3e5 to 1e8; both sides 0.073 (Bird, Stewart & Lightfoot,
    Transport Phenomena, problem 6C of chapter 6: friction factor of a rotating disc). Below
    that Re the laminar law 0.308 rho w^2 R^5 Re^(-1/2) of the same place where it is larger.

    Examples
    --------
    >>> round(float(disc_torque(600 * 2 * np.pi / 60, 0.25)), 2)
    6.74
    """
    w = within("speed", speed, 0.0, 300.0, "rad/s")
    size = within("radius", radius, 0.01, 1.0, "m")
    reynolds = np.maximum(w * np.square(size) * WATER / VISCOSITY, 1e-6)
    shape = np.maximum(0.0365 * reynolds**-0.2, 0.308 * reynolds**-0.5)
    return np.asarray(WATER * np.square(w) * size**5 * shape)


def wall_torque(speed: Number, radius: Number, depth: Number, gap: Number = 0.015) -> Floats:
    """Torque [N m] of water ``depth`` [m] deep in the gap [m] around a smooth drum [m].

    0.5 pi rho w^2 R^4 h C, C = 0.065 (gap / R)^0.3 Re^(-0.2), Re = w R gap / nu above 1e4
    (Bilgen & Boulos, Trans. ASME J. Fluids Eng. 95, 1973, 122-126; from memory). Carried on
    below that Re, where it is too small and no matter.

    Examples
    --------
    >>> round(float(wall_torque(600 * 2 * np.pi / 60, 0.25, 0.05)), 2)
    2.85
    """
    w = within("speed", speed, 0.0, 300.0, "rad/s")
    size = within("radius", radius, 0.01, 1.0, "m")
    narrow = within("gap", gap, 1e-3, 0.2, "m")
    deep = within("depth", depth, 0.0, 2.0, "m")
    reynolds = np.maximum(w * size * narrow * WATER / VISCOSITY, 1e-6)
    friction = 0.065 * (narrow / size) ** 0.3 * reynolds**-0.2
    return np.asarray(0.5 * np.pi * WATER * np.square(w) * size**4 * deep * friction)


def water_torque(speed: Number, radius: Number, depth: Number, gap: Number = 0.015) -> Floats:
    """Torque [N m] on a basket that stands ``depth`` [m] deep in water, none at 0 or below.

    The sum of ``disc_torque``, whole once the water wets the bottom, and ``wall_torque``.
    A negative depth is water that does not reach the basket.

    Examples
    --------
    >>> float(water_torque(60.0, 0.25, -0.01))
    0.0
    """
    deep = within("depth", depth, -2.0, 2.0, "m")
    bottom = np.where(deep > 0.0, disc_torque(speed, radius), 0.0)
    return np.asarray(bottom + wall_torque(speed, radius, np.maximum(deep, 0.0), gap))


def reached_speed(as_built: Number, torque: Number, drag: Callable[[Floats], Number]) -> Floats:
    """Speed [rad/s] at which ``torque`` [N m] and drag balance, at most as built.

    ``drag`` gives the torque [N m] at a speed (of the shape of all arguments together) and
    never falls with it. Halving, to 1e-12 of the speed as built; 0 where the drag at rest
    holds the basket.

    Examples
    --------
    >>> round(float(reached_speed(80.0, 9.0, lambda w: 0.0025 * w**2)), 6)
    60.0
    """
    fastest = within("speed", as_built, 0.0, 300.0, "rad/s")
    moving = within("torque", torque, 0.0, 1e4, "N m")
    high = np.broadcast_to(fastest, np.broadcast_shapes(fastest.shape, moving.shape)).copy()
    low = np.zeros_like(high)
    free = np.asarray(drag(high)) <= moving
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        turns = np.asarray(drag(middle)) <= moving
        low, high = np.where(turns, middle, low), np.where(turns, high, middle)
    stuck = np.asarray(drag(np.zeros_like(low))) > moving
    return np.asarray(np.where(free, fastest, np.where(stuck, 0.0, low)))


def run_up_time(inertia: Number, torque: Number, drag: Number, speed: Number) -> Floats:
    """Time [s] to reach a speed [rad/s] with a steady torque and drag [N m]: J w / (T - D).

    ``inertia`` [kg m2] of basket and load. Infinite where the drag is not overcome.

    Examples
    --------
    >>> float(run_up_time(1.5, 10.0, 2.0, 64.0))
    12.0
    """
    left = within("torque", torque, 0.0, 1e4, "N m") - within("drag", drag, 0.0, 1e4, "N m")
    turning = within("inertia", inertia, 0.0, 1e3, "kg m2")
    reached = within("speed", speed, 0.0, 300.0, "rad/s")
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.where(left > 0.0, turning * reached / left, np.inf))


def run_down_time(inertia: Number, drag: Number, speed: Number) -> Floats:
    """Time [s] in which a steady drag [N m] stops a basket: J w / D; infinite without drag.

    Examples
    --------
    >>> float(run_down_time(1.5, 3.0, 64.0))
    32.0
    """
    turning = within("inertia", inertia, 0.0, 1e3, "kg m2")
    with np.errstate(divide="ignore"):
        time = turning * within("speed", speed, 0.0, 300.0, "rad/s")
        return np.asarray(time / within("drag", drag, 0.0, 1e4, "N m"))
