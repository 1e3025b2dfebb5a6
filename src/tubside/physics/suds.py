"""Suds between the bowls: how hard they hold the basket, how they collapse.

Suds are a yielding fluid: they stand still below a stress and above it drag more the faster
they are sheared. About 15 mm between basket and tub, full of suds, drags enough to spoil a
spin; that gap and that outcome are common practice, no source.
"""

from __future__ import annotations

import numpy as np

from tubside.physics.validity import Floats, Number, within

GAP = 0.015
"""Between basket and tub [m]: common practice, no source."""

HALF_LIFE = 240.0
"""In which half of the suds collapse, left alone [s]: chosen so that 10 to 15 minutes of
waiting leave 18 to 7 %; that this wait is enough is common practice, no source."""


def capillary_number(
    shear_rate: Number, bubble: Number = 1e-4, tension: Number = 0.03, viscosity: Number = 1e-3
) -> Floats:
    """Viscous over surface forces at a bubble [1]: mu g R / sigma.

    ``shear_rate`` [1/s], ``bubble`` its mean radius [m], ``tension`` of the surface [N/m],
    ``viscosity`` of the liquid [Pa s] (Denkov et al., Phys. Rev. Lett. 100, 2008, 138301).

    Examples
    --------
    >>> round(float(capillary_number(1000.0)), 6)
    0.003333
    """
    rate = within("shear rate", shear_rate, 0.0, 1e6, "1/s")
    size = within("bubble radius", bubble, 1e-6, 1e-2, "m")
    surface = within("surface tension", tension, 1e-3, 0.1, "N/m")
    return np.asarray(within("viscosity", viscosity, 1e-4, 1.0, "Pa s") * rate * size / surface)


def suds_stress(
    shear_rate: Number, bubble: Number = 1e-4, gas: Number = 0.95, tension: Number = 0.03
) -> Floats:
    """Shear stress [Pa] of suds: (sigma / R) (0.5 (f - 0.64)^2 + 1.16 C Ca^(1/2)).

    C = f^(5/6) (f - 0.74)^0.1 / (1 - f)^(1/2), with ``gas`` f the share of gas [1]. Yield part
    after Mason, Bibette & Weitz, J. Colloid Interface Sci. 179, 1996, viscous part after
    Denkov et al., Phys. Rev. Lett. 100, 2008, 138301 (constants from memory; that the stress
    goes with the root of Ca is in the abstract of Tcholakova et al., Phys. Rev. E 78, 2008).
    True for f of 0.80 to 0.98 and Ca of 1e-6 to 1e-3, for surfactants whose bubble
    surfaces move freely; carried on to the Ca of a spin (some 0.003), where suds also slip at
    the wall: an upper bound there, to be trusted to a factor of two.

    Examples
    --------
    >>> round(float(suds_stress(0.0)), 1), round(float(suds_stress(1000.0)), 1)
    (14.4, 88.1)
    """
    f = within("share of gas", gas, 0.80, 0.98, "1")
    laplace = within("surface tension", tension, 1e-3, 0.1, "N/m") / np.asarray(bubble)
    shape = f ** (5 / 6) * (f - 0.74) ** 0.1 / np.sqrt(1.0 - f)
    viscous = 1.16 * shape * np.sqrt(capillary_number(shear_rate, bubble, tension))
    return np.asarray(laplace * (0.5 * np.square(f - 0.64) + viscous))


def suds_torque(
    speed: Number, radius: Number, height: Number, gap: Number = GAP, stress_share: Number = 1.0
) -> Floats:
    """Torque [N m] of suds ``height`` [m] deep around a basket: 2 pi R^2 h times the stress.

    Sheared evenly across the gap, w R / gap [1/s] (a gap narrow against the radius R [m]);
    ``stress_share`` [1] scales the stress of fine suds for looser ones. None at rest: what
    yields only holds, it does not push.

    Examples
    --------
    Suds a third of a metre deep take some 12 N m of a basket at 600 turns a minute.

    >>> round(float(suds_torque(600 * 2 * np.pi / 60, 0.25, 0.33)), 1)
    11.6
    """
    w = within("speed", speed, 0.0, 300.0, "rad/s")
    size = within("radius", radius, 0.01, 1.0, "m")
    deep = within("height of the suds", height, 0.0, 2.0, "m")
    rate = w * size / within("gap", gap, 1e-3, 0.2, "m")
    share = within("share of the stress", stress_share, 0.0, 10.0, "1")
    stress = np.where(rate > 0.0, share * suds_stress(rate), 0.0)
    return np.asarray(2.0 * np.pi * np.square(size) * deep * stress)


def suds_left(wait: Number, half_life: Number = HALF_LIFE) -> Floats:
    """Share of the suds [1] that is left after a wait [s]: 2^(-t / half life).

    Common practice, no source, as to the half life; suds collapse faster in warm water,
    slower in soft water with much detergent.

    Examples
    --------
    >>> round(float(suds_left(600.0)), 2), round(float(suds_left(900.0)), 2)
    (0.18, 0.07)
    """
    waited = within("wait", wait, 0.0, 1e7, "s")
    return np.asarray(np.exp2(-waited / within("half life", half_life, 1.0, 1e6, "s")))


def suds_share(dose: Number) -> Floats:
    """How full of suds [1] the gap is at a dose, a multiple of the right one: 1 - 2^(1 - d).

    None up to the right dose, half at twice, three quarters at three times as much: own
    choice of a smooth law; that too much detergent fills the gap is common practice, no
    source.

    Examples
    --------
    >>> float(suds_share(1.0)), float(suds_share(2.0)), float(suds_share(3.0))
    (0.0, 0.5, 0.75)
    """
    over = np.maximum(within("dose", dose, 0.0, 100.0, "1") - 1.0, 0.0)
    return np.asarray(1.0 - np.exp2(-over))
