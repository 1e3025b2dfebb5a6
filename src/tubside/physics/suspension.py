"""How a tub hangs and swings: damping from bounces, wear, sinking on the springs.

One mass on springs with viscous damping. Real rods and legs hold mostly by friction, whose
swings shrink by equal steps instead of equal shares; ``damping_of_friction`` says which
viscous damping takes as much energy at one amplitude. *Damping ratio* zeta [1]: 1 is the
least at which a released tub does not swing past its rest.
"""

from __future__ import annotations

import numpy as np

from tubside.physics.standard import STANDARD_GRAVITY
from tubside.physics.validity import Floats, Number, within

SEEN = 0.1
"""Swings below this share of the first press are not counted by eye [1]; own choice."""


def natural_frequency(stiffness: Number, mass: Number) -> Floats:
    """Undamped natural frequency [rad/s]: sqrt(k / m).

    ``stiffness`` [N/m] of all springs together, ``mass`` [kg] hung on them. Small swings on
    straight springs (Thomson, Theory of Vibration with Applications, section 2.2).

    Examples
    --------
    >>> round(float(natural_frequency(2358.3, 200.0)), 4)
    3.4339
    """
    k = within("stiffness", stiffness, 1.0, 1e9, "N/m")
    return np.asarray(np.sqrt(k / within("mass", mass, 1e-3, 1e6, "kg")))


def critical_damping(stiffness: Number, mass: Number) -> Floats:
    """Damping [N s/m] at which a released tub just does not swing: 2 sqrt(k m).

    Thomson, Theory of Vibration with Applications, section 2.6.

    Examples
    --------
    >>> round(float(critical_damping(5400.0, 8.0)), 1)
    415.7
    """
    return np.asarray(2.0 * natural_frequency(stiffness, mass) * np.asarray(mass))


def damping_ratio(damping: Number, stiffness: Number, mass: Number) -> Floats:
    """Damping ratio [1] of a damper [N s/m]: c / (2 sqrt(k m)).

    Examples
    --------
    >>> round(float(damping_ratio(40.0, 5400.0, 8.0)), 4)
    0.0962
    """
    c = within("damping", damping, 0.0, 1e9, "N s/m")
    return np.asarray(c / critical_damping(stiffness, mass))


def decrement(ratio: Number) -> Floats:
    """Logarithmic decrement [1] of one whole bounce: 2 pi zeta / sqrt(1 - zeta^2).

    Infinite from a damping ratio of 1, where nothing swings (Thomson, eq. 2.7-3).

    Examples
    --------
    >>> round(float(decrement(0.0681)), 3), float(decrement(1.0))
    (0.429, inf)
    """
    zeta = within("damping ratio", ratio, 0.0, 10.0, "1")
    under = np.sqrt(np.maximum(1.0 - np.square(zeta), 0.0))
    with np.errstate(divide="ignore"):
        return np.asarray(2.0 * np.pi * zeta / under)


def ratio_of_decrement(log_decrement: Number) -> Floats:
    """Damping ratio [1] of a logarithmic decrement: delta / sqrt(4 pi^2 + delta^2).

    The inverse of ``decrement`` (Thomson, section 2.7, solved for zeta).

    Examples
    --------
    >>> round(float(ratio_of_decrement(0.64)), 3)
    0.101
    """
    delta = within("logarithmic decrement", log_decrement, 0.0, 1e6, "1")
    return np.asarray(delta / np.hypot(2.0 * np.pi, delta))


def ratio_of_amplitudes(first: Number, later: Number, bounces: Number = 1.0) -> Floats:
    """Damping ratio [1] from two swings to one side, ``bounces`` whole bounces apart.

    delta = ln(first / later) / bounces (Thomson, example 2.7-2). ``first`` and ``later`` in
    any one unit, the later not above the first.

    Raises
    ------
    OutsideRangeError
        If the later swing is larger than the first, or there is no bounce between.

    Examples
    --------
    >>> round(float(ratio_of_amplitudes(1.0, 0.25, 0.5)), 4)
    0.4037
    """
    share = np.asarray(later, dtype=float) / within("first swing", first, 1e-12, 1e12, "1")
    left = within("later over first swing", share, 1e-12, 1.0, "1")
    count = within("bounces between", bounces, 0.5, 1e6, "1")
    return ratio_of_decrement(np.asarray(-np.log(left) / count))


def bounce_count(ratio: Number, seen: Number = SEEN) -> Floats:
    """Whole bounces [1] until a swing is below the share ``seen`` of the first press.

    n = ln(1 / seen) / delta, not rounded; 0 from a damping ratio of 1, infinite at 0.
    What counts as seen is the eye's matter; 10 % is common practice, no source.

    Examples
    --------
    >>> round(float(bounce_count(0.0731)), 2), float(bounce_count(1.2))
    (5.0, 0.0)
    """
    share = within("share seen", seen, 1e-6, 1.0, "1")
    with np.errstate(divide="ignore", over="ignore"):
        return np.asarray(-np.log(share) / decrement(ratio))


def ratio_of_bounces(count: Number, seen: Number = SEEN) -> Floats:
    """Damping ratio [1] from counted whole bounces; 1 when there is none.

    The inverse of ``bounce_count``: no bounce says only that the ratio is 1 or more.

    Examples
    --------
    >>> round(float(ratio_of_bounces(5.0)), 4), float(ratio_of_bounces(0.0))
    (0.0731, 1.0)
    """
    bounces = within("bounces", count, 0.0, 1e6, "1")
    share = within("share seen", seen, 1e-6, 1.0, "1")
    log_share = -np.log(share)
    return np.asarray(log_share / np.hypot(2.0 * np.pi * bounces, log_share))


def overshoot(ratio: Number) -> Floats:
    """First swing past the rest, as a share [1] of the press: exp(-delta / 2).

    0 from a damping ratio of 1 (Ogata, Modern Control Engineering, section 5.3: maximum
    overshoot of a second-order system; from memory).

    Examples
    --------
    >>> round(float(overshoot(0.4)), 3)
    0.254
    """
    return np.asarray(np.exp(-0.5 * decrement(ratio)))


def swing_ratio(ratio: Number) -> Floats:
    """Next swing to the same side over the swing before [1]: exp(-delta).

    Examples
    --------
    >>> round(float(1.0 / swing_ratio(0.0681)), 2)
    1.54
    """
    return np.asarray(np.exp(-decrement(ratio)))


def released(time: Number, pressed: Number, frequency: Number, ratio: Number) -> Floats:
    """Place [m] of a tub pressed down by ``pressed`` [m] and let go, ``time`` [s] later.

    The closed solutions below, at and above critical damping (Thomson, section 2.6), joined
    by cosh and sinh of an imaginary or real argument. ``frequency`` [rad/s] is undamped.

    Examples
    --------
    >>> round(float(released(0.0, 0.05, 20.0, 0.3)), 3)
    0.05
    >>> round(float(released(np.pi / 20.0, 0.05, 20.0, 0.0)), 3)
    -0.05
    """
    at = within("time", time, 0.0, 1e6, "s")
    zeta = within("damping ratio", ratio, 0.0, 10.0, "1")
    angle = within("natural frequency", frequency, 1e-3, 1e4, "rad/s") * at
    root = np.sqrt(np.asarray(np.square(zeta) - 1.0, dtype=complex))
    root = np.where(np.abs(root) < 1e-6, 1e-6, root)
    # exp(-zeta a) cosh(root a) + ..., in two falling powers that cannot overflow
    slow, fast = np.exp((root - zeta) * angle), np.exp((-root - zeta) * angle)
    shape = 0.5 * (slow + fast) + 0.5 * zeta / root * (slow - fast)
    return np.asarray(np.asarray(pressed) * shape.real)


def damping_of_friction(force: Number, stiffness: Number, amplitude: Number) -> Floats:
    """Damping ratio [1] that takes as much energy as dry friction: 2 F / (pi k X).

    At the natural frequency, ``force`` [N] the friction, ``amplitude`` [m] the swing.
    Equivalent damping c = 4 F / (pi w X) (Thomson, section 3.9; Rao, Mechanical Vibrations,
    section 3.9; from memory). Worth nothing when the swing is so small that friction
    holds the tub still (k X below F).

    Raises
    ------
    OutsideRangeError
        If friction holds the tub still at this swing.

    Examples
    --------
    >>> round(float(damping_of_friction(60.0, 6000.0, 0.02)), 3)
    0.318
    """
    holds = np.asarray(force, dtype=float) / (np.asarray(stiffness) * np.asarray(amplitude))
    return np.asarray(2.0 / np.pi * within("friction over spring force", holds, 0.0, 1.0, "1"))


def worn_damping(as_new: Number, wear: Number) -> Floats:
    """Damping ratio [1] of rods or legs of which the share ``wear`` [1] of the grip is gone.

    Proportional, as friction is to the grip; common practice, no source.

    Examples
    --------
    >>> float(worn_damping(0.8, 0.75))
    0.2
    """
    gone = within("wear", wear, 0.0, 1.0, "1")
    return np.asarray(within("damping ratio", as_new, 0.0, 10.0, "1") * (1.0 - gone))


def sink(mass: Number, stiffness: Number) -> Floats:
    """How far [m] the tub sinks on its springs under ``mass`` [kg] more: m g / k.

    Examples
    --------
    >>> round(float(sink(40.0, 6000.0)), 4)
    0.0654
    """
    more = within("mass", mass, 0.0, 1e4, "kg")
    k = within("stiffness", stiffness, 1.0, 1e9, "N/m")
    return np.asarray(more * STANDARD_GRAVITY / k)


def frequency_of_sink(depth: Number, gravity: float = STANDARD_GRAVITY) -> Floats:
    """Natural frequency [rad/s] of a mass that sinks by ``depth`` [m]: sqrt(g / depth).

    Straight springs only: k = m g / depth (Thomson, section 2.2).

    Examples
    --------
    A fan that sinks its mounts by 0.38 cm is in resonance at 485 turns a minute.

    >>> round(float(frequency_of_sink(0.0038, 9.8)) * 60 / (2 * np.pi))
    485
    """
    return np.asarray(np.sqrt(gravity / within("sinking", depth, 1e-6, 10.0, "m")))
