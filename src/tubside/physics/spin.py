"""Spinning: pull on the laundry, force of an unbalanced load, swinging, walking.

Speeds [rad/s]. One mass on springs with viscous damping, a small mass off the axis; the
*ratio* r is spin speed over natural frequency.
"""

from __future__ import annotations

import numpy as np

from tubside.physics.standard import STANDARD_GRAVITY
from tubside.physics.validity import Floats, Number, within

FASTEST = 300.0
"""[rad/s], some 2900 turns a minute: no household basket turns faster."""


def g_force(speed: Number, radius: Number) -> Floats:
    """Pull on the laundry in multiples of gravity [1]: w^2 r / g.

    Examples
    --------
    >>> round(float(g_force(1200 * 2 * np.pi / 60, 0.25)), 1)
    402.6
    """
    return np.asarray(_square(speed) * _radius(radius) / STANDARD_GRAVITY)


def unbalance_force(mass: Number, radius: Number, speed: Number) -> Floats:
    """Turning force [N] of a mass [kg] off the axis: m w^2 r.

    Examples
    --------
    >>> round(float(unbalance_force(0.3, 0.25, 1200 * 2 * np.pi / 60)), 1)
    1184.4
    """
    off = within("unbalanced mass", mass, 0.0, 100.0, "kg")
    return np.asarray(off * _square(speed) * _radius(radius))


def permissible_unbalance(grade: Number, mass: Number, speed: Number) -> Floats:
    """Unbalance [kg m] that a balance grade G [m/s] allows a rotor [kg]: G m / w.

    ISO 21940-11: the offset of the mass times the speed is the grade; G 6.3 is 0.0063 m/s.

    Examples
    --------
    >>> round(float(permissible_unbalance(6.3e-3, 10.0, 3000 * 2 * np.pi / 60)) * 1e6, 1)
    200.5
    """
    turning = within("speed", speed, 1e-3, 1e5, "rad/s")
    offset = within("balance grade", grade, 0.0, 10.0, "m/s") / turning
    return np.asarray(offset * within("mass", mass, 0.0, 1e6, "kg"))


def amplitude(unbalance: Number, mass: Number, ratio: Number, damping: Number) -> Floats:
    """Swing [m] at a steady speed: (U / m) r^2 / sqrt((1 - r^2)^2 + (2 zeta r)^2).

    ``unbalance`` [kg m] is mass times distance from the axis, ``mass`` [kg] all that swings,
    ``ratio`` [1] speed over natural frequency, ``damping`` [1] the damping ratio (Thomson,
    Theory of Vibration with Applications, section 3.2). Infinite at resonance undamped.

    Examples
    --------
    >>> round(float(amplitude(10 * 0.25, 20.0, 26.18 / 7.0711, 0.05)), 4)
    0.1348
    """
    r, zeta = _ratio(ratio), _damping(damping)
    with np.errstate(divide="ignore"):
        shape = np.square(r) / np.hypot(1.0 - np.square(r), 2.0 * zeta * r)
    return np.asarray(_eccentricity(unbalance, mass) * shape)


def transmissibility(ratio: Number, damping: Number) -> Floats:
    """Force on the floor over force of the unbalance [1].

    sqrt((1 + (2 zeta r)^2) / ((1 - r^2)^2 + (2 zeta r)^2)); 1 at r = sqrt 2 for any damping,
    below it above 1 (Thomson, section 3.6).

    Examples
    --------
    >>> round(float(transmissibility(np.sqrt(2.0), 0.3)), 12)
    1.0
    """
    r, zeta = _ratio(ratio), _damping(damping)
    with np.errstate(divide="ignore"):
        shape = np.hypot(1.0, 2.0 * zeta * r) / np.hypot(1.0 - np.square(r), 2.0 * zeta * r)
    return np.asarray(shape)


def floor_force(swing: Number, stiffness: Number, ratio: Number, damping: Number) -> Floats:
    """Force [N] through springs and dampers on the cabinet at a swing [m]: k X sqrt(1 + ...).

    k X sqrt(1 + (2 zeta r)^2), ``stiffness`` [N/m] (Thomson, section 3.6).

    Examples
    --------
    >>> round(float(floor_force(0.13478, 1000.0, 26.18 / 7.0711, 0.05)), 1)
    143.7
    """
    spring = np.asarray(swing) * within("stiffness", stiffness, 1.0, 1e9, "N/m")
    return np.asarray(spring * np.hypot(1.0, 2.0 * _damping(damping) * _ratio(ratio)))


def passage_amplitude(
    unbalance: Number, mass: Number, frequency: Number, damping: Number, acceleration: Number
) -> Floats:
    """Largest swing [m] while the speed runs up through the natural frequency.

    ``frequency`` [rad/s] natural, ``acceleration`` [rad/s2] of the spin. Near resonance the
    swing A obeys dA/dt = -zeta wn A + U wn exp(i a t^2 / 2) / (2 m), whose largest value is
    U wn / (2 m sqrt a) times ``passage_shape`` of zeta wn / sqrt a (worked out here from the
    problem of Lewis, Trans. ASME 54, 1932, 253-261; from memory). Two corrections: the steady
    peak lies at 1 / (2 zeta sqrt(1 - zeta^2)), and the force still grows during the passage, by
    0.7 sqrt a / wn (own fit). Never less than U / m, to which the swing tends far above
    resonance. Within 10 % of the full equation of motion for sqrt a below 0.3 wn.

    Raises
    ------
    OutsideRangeError
        If there is no passage to speak of (sqrt a above wn).

    Examples
    --------
    A slow passage comes near the steady peak U / (2 zeta m).

    >>> round(float(passage_amplitude(0.1, 40.0, 12.0, 0.1, 0.05)), 4)
    0.0127
    """
    wn = within("natural frequency", frequency, 0.1, 1e3, "rad/s")
    root = np.sqrt(within("acceleration", acceleration, 1e-6, 1e6, "rad/s2"))
    haste = within("sqrt of acceleration over natural frequency", root / wn, 0.0, 1.0, "1")
    zeta = _damping(damping)
    peaked = np.square(np.minimum(zeta, np.sqrt(0.5)))  # from there on no peak is left
    growth = 0.5 / haste * passage_shape(zeta / haste) / np.sqrt(1.0 - peaked)
    growth = growth * (1.0 + 0.7 * haste * (1.0 - 2.0 * peaked))
    return np.asarray(_eccentricity(unbalance, mass) * np.maximum(growth, 1.0))


def trip_unbalance(
    limit: Number, mass: Number, frequency: Number, damping: Number, acceleration: Number
) -> Floats:
    """Unbalance [kg m] at which the swing in passage reaches ``limit`` [m].

    Where the tub touches the switch or the cabinet: the swing is proportional to the
    unbalance, so this is ``limit`` over the swing of 1 kg m (see ``passage_amplitude``).

    Examples
    --------
    >>> round(float(trip_unbalance(0.025, 40.0, 12.0, 0.1, 0.05)), 3)
    0.197
    """
    of_one = passage_amplitude(1.0, mass, frequency, damping, acceleration)
    return np.asarray(within("limit", limit, 0.0, 1.0, "m") / of_one)


# Peak over u of |int_0^inf exp(-g s + i (u - s)^2 / 2) ds| for g, by the Faddeeva function;
# the tests compute it anew. Between the points log-log, within 0.7 %.
_PASSAGE_G, _PASSAGE_PEAK = np.array(
    [
        (0.001, 2.9291),
        (0.01, 2.8819),
        (0.02, 2.8309),
        (0.05, 2.6868),
        (0.1, 2.4721),
        (0.15, 2.2846),
        (0.2, 2.1196),
        (0.3, 1.8435),
        (0.4, 1.6228),
        (0.5, 1.4434),
        (0.7, 1.1717),
        (1.0, 0.9014),
        (1.5, 0.6396),
        (2.0, 0.4906),
        (3.0, 0.3316),
        (5.0, 0.1998),
        (10.0, 0.1),
    ]
).T


def passage_shape(damped: Number) -> Floats:
    """Peak swing of a passage [1] in units of U wn / (2 m sqrt a), for zeta wn / sqrt a.

    2.93 undamped (the largest arc of the Cornu spiral), 1 / x for a slow passage.

    Examples
    --------
    >>> round(float(passage_shape(0.0)), 2), float(passage_shape(20.0))
    (2.93, 0.05)
    """
    g = np.maximum(within("damping of a passage", damped, 0.0, 1e9, "1"), _PASSAGE_G[0])
    table = np.exp(np.interp(np.log(g), np.log(_PASSAGE_G), np.log(_PASSAGE_PEAK)))
    return np.asarray(np.where(g > _PASSAGE_G[-1], 1.0 / g, table))


def slip_force(
    standing: Number, friction: Number, arm: Number = 0.0, foot_radius: Number = 0.4
) -> Floats:
    """Sideways force [N] at which a cabinet begins to slip: mu N / sqrt(1 + (d / R)^2).

    ``standing`` [N] presses on the feet, ``friction`` [1], ``arm`` [m] from the middle of the
    feet to the line of the force, ``foot_radius`` [m] from there to the feet. Force and
    twist lie on an ellipse (Howe & Cutkosky, Int. J. Robotics Research 15(6), 1996; from
    memory): any arm makes slipping begin sooner, by turning (Papadopoulos &
    Papadimitriou, AIM 2001, abstract). All feet bear alike.

    Examples
    --------
    >>> round(float(slip_force(700.0, 0.4)), 6), round(float(slip_force(700.0, 0.4, 0.3)), 6)
    (280.0, 224.0)
    """
    grip = within("friction", friction, 0.0, 2.0, "1") * within("load", standing, 0.0, 1e5, "N")
    reach = np.asarray(arm, dtype=float) / within("foot radius", foot_radius, 0.05, 2.0, "m")
    return np.asarray(grip / np.hypot(1.0, reach))


def slip_force_lying(standing: Number, friction: Number) -> Floats:
    """Turning force [N] at which a front-loader slips: mu N / sqrt(1 + mu^2).

    With the axis lying, the force also lifts the cabinet as it turns: the first slip is at
    the angle where F cos a = mu (N - F sin a).

    Examples
    --------
    >>> round(float(slip_force_lying(700.0, 0.4)), 1)
    260.0
    """
    mu = within("friction", friction, 0.0, 2.0, "1")
    return np.asarray(mu * within("load", standing, 0.0, 1e5, "N") / np.hypot(1.0, mu))


def _square(speed: Number) -> Floats:
    return np.asarray(np.square(within("speed", speed, 0.0, FASTEST, "rad/s")))


def _radius(radius: Number) -> Floats:
    return within("radius", radius, 0.0, 1.0, "m")


def _ratio(ratio: Number) -> Floats:
    return within("speed over natural frequency", ratio, 0.0, 1e4, "1")


def _damping(damping: Number) -> Floats:
    return within("damping ratio", damping, 0.0, 10.0, "1")


def _eccentricity(unbalance: Number, mass: Number) -> Floats:
    moment = within("unbalance", unbalance, 0.0, 100.0, "kg m")
    return np.asarray(moment / within("mass", mass, 1e-3, 1e5, "kg"))
