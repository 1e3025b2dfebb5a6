"""Washing: hardness of the water, dose, bulk of the load, torque to move it.

Amounts of hardness [mol/m3] are of calcium and magnesium together (1 mol/m3 = 1 mmol/L);
unit factors come from ``quantities.units``.
"""

from __future__ import annotations

import numpy as np

from tubside.physics.standard import STANDARD_GRAVITY
from tubside.physics.validity import Floats, Number, within
from tubside.quantities.units import CALCIUM_CARBONATE, GALLON, GRAIN, IMPERIAL_GALLON, LIME

WATER = 998.2
COTTON = 1540.0
"""Density of the fibre [kg/m3] (Morton & Hearle, Physical Properties of Textile Fibres;
from memory)."""

DRUM_PER_LOAD = 0.010
"""Drum volume for a kilogram of dry cotton [m3/kg]: ISO 9398-4 (from memory); three sources
disagree on what is full, so common practice, no source."""

SOAKED_PER_LOAD = 0.006
"""Volume of soaked cotton lying in the water [m3/kg dry]: common practice, no source."""

HARDNESS_SCALES: dict[str, float] = {
    "mmol/L": 1.0,
    "°dH": 0.01 / LIME,
    "°fH": 0.01 / CALCIUM_CARBONATE,
    "mg/L CaCO3": 1e-3 / CALCIUM_CARBONATE,
    "gpg": GRAIN / GALLON / CALCIUM_CARBONATE,
    "°Clark": GRAIN / IMPERIAL_GALLON / CALCIUM_CARBONATE,
}
"""Amount [mol/m3] that one unit of each scale is. °dH: 10 g/m3 of lime; the others: calcium
carbonate, 10 g/m3, 1 g/m3, a grain in a US and in an imperial gallon (definitions)."""

HARDNESS_BANDS: dict[str, tuple[float, ...]] = {
    "four bands": (1.3, 2.5, 3.8),
    "three bands": (8.4 * 0.01 / LIME, 14.0 * 0.01 / LIME),
}
"""Ends [mol/m3] between soft, medium, hard (and very hard): 7, 14 and 21 °dH in instruction
booklets, 8.4 and 14 °dH in the other scheme (both read; no standard)."""

STANDARD_LOAD = 4.5
DELICATE_LOAD = 2.5
STANDARD_HARDNESS = 2.5
"""Dry load [kg] and hardness [mol/m3] on which doses are stated: Regulation (EC) 648/2004,
Annex VII B."""


def hardness_of(value: Number, scale: str) -> Floats:
    """Amount of hardness [mol/m3] of a value on one of ``HARDNESS_SCALES``.

    Examples
    --------
    >>> round(float(hardness_of(14.0, "°dH")), 2)
    2.5
    """
    return np.asarray(within("hardness", value, 0.0, 1e4, scale) * HARDNESS_SCALES[scale])


def hardness_on(scale: str, hardness: Number) -> Floats:
    """Value on one of ``HARDNESS_SCALES`` of an amount of hardness [mol/m3].

    Examples
    --------
    >>> round(float(hardness_on("°dH", 1.0)), 3)
    5.608
    """
    return np.asarray(within("hardness", hardness, 0.0, 1e4, "mol/m3") / HARDNESS_SCALES[scale])


def hardness_band(hardness: Number, bands: str = "four bands") -> np.ndarray:
    """Number of the band [0 is soft] in which a hardness [mol/m3] lies; an end is the next.

    Examples
    --------
    >>> int(hardness_band(2.0)), int(hardness_band(2.0, "three bands"))
    (1, 1)
    """
    amount = within("hardness", hardness, 0.0, 1e3, "mol/m3")
    return np.searchsorted(np.asarray(HARDNESS_BANDS[bands]), amount, side="right")


def base_dose(load: Number) -> Floats:
    """Detergent [kg] for a dry load [kg] at medium hardness: 54 g + 16 g for each kg.

    IEC 60456 (reference detergent; from memory, 70 %). Powder of that kind only: a
    concentrated liquid takes a third of it, by its label.

    Examples
    --------
    >>> round(float(base_dose(5.0)), 3)
    0.134
    """
    return np.asarray(0.054 + 0.016 * within("load", load, 0.0, 30.0, "kg"))


def right_dose(load: Number, hardness: Number) -> Floats:
    """Detergent [kg] for a dry load [kg] in water of a hardness [mol/m3].

    ``base_dose`` times 0.75 in water without hardness, 1 at 2.5 mol/m3, 0.1 more for each
    mol/m3 further: labels give a dose for soft, medium and hard water (Regulation (EC)
    648/2004, Annex VII B); how much they differ is common practice, no source. To 10 mol/m3.

    Examples
    --------
    >>> round(float(right_dose(4.5, 2.5)), 3), round(float(right_dose(4.5, 0.0)), 4)
    (0.126, 0.0945)
    """
    amount = within("hardness", hardness, 0.0, 10.0, "mol/m3")
    return np.asarray(base_dose(load) * (0.75 + 0.1 * amount))


def load_share(load: Number, drum: Number, per_load: Number = DRUM_PER_LOAD) -> Floats:
    """How full [1] a drum or basket [m3] is with a dry load [kg]; above 1 is overloaded.

    Examples
    --------
    >>> float(load_share(6.0, 0.060))
    1.0
    """
    dry = within("load", load, 0.0, 50.0, "kg")
    return np.asarray(dry * per_load / within("drum volume", drum, 1e-3, 1.0, "m3"))


def soaked_height(load: Number, area: Number, per_load: Number = SOAKED_PER_LOAD) -> Floats:
    """How high [m] a soaked load [kg dry] stands in a basket of a floor area [m2].

    Examples
    --------
    >>> round(float(soaked_height(4.0, 0.2)), 3)
    0.12
    """
    dry = within("load", load, 0.0, 50.0, "kg")
    floor = within("area", area, 1e-3, 2.0, "m2")
    return np.asarray(dry * np.asarray(per_load) / floor)


def covered_share(level: Number, height: Number) -> Floats:
    """Share [1] of the soaked load's height [m] that lies under the water level [m].

    Both over the basket's floor; 1 where nothing is in the basket.

    Examples
    --------
    >>> float(covered_share(0.06, 0.12)), float(covered_share(0.30, 0.12))
    (0.5, 1.0)
    """
    water = np.maximum(within("level", level, -2.0, 2.0, "m"), 0.0)
    bulk = within("height of the load", height, 0.0, 2.0, "m")
    water, bulk = np.broadcast_arrays(water, bulk)
    share = np.divide(water, bulk, out=np.ones(bulk.shape), where=bulk > 0.0)
    return np.asarray(np.minimum(share, 1.0))


def resting_weight(load: Number, covered: Number, held: Number = 2.0) -> Floats:
    """Weight [N] with which a soaked load rests on the agitator.

    What is under water weighs as the fibre less the water it pushes aside (Archimedes), what
    stands above it weighs wet: m g (c (1 - rho_w / rho_fibre) + (1 - c)(1 + held)), with
    ``held`` kg of water in a kg of dry laundry, ``covered`` c [1]. Cotton.

    Examples
    --------
    >>> round(float(resting_weight(4.0, 1.0)), 1), round(float(resting_weight(4.0, 0.0)), 1)
    (13.8, 117.7)
    """
    dry = within("load", load, 0.0, 50.0, "kg")
    under = within("covered share", covered, 0.0, 1.0, "1")
    wet = 1.0 + within("water held", held, 0.0, 10.0, "1")
    share = under * (1.0 - WATER / COTTON) + (1.0 - under) * wet
    return np.asarray(dry * STANDARD_GRAVITY * share)


def agitation_torque(weight: Number, radius: Number, friction: Number = 0.5) -> Floats:
    """Torque [N m] that turns an agitator under a load resting with ``weight`` [N].

    2/3 mu W R: even pressure on a disc of ``radius`` R [m] (Shigley, Mechanical Engineering
    Design, disc clutches, uniform pressure; from memory). ``friction`` of wet cloth on
    plastic 0.5 is common practice, no source. Without the water's own drag: a lower bound.

    Examples
    --------
    >>> round(float(agitation_torque(120.0, 0.2)), 3)
    8.0
    """
    mu = within("friction", friction, 0.0, 2.0, "1")
    size = within("radius", radius, 0.01, 1.0, "m")
    return np.asarray(2.0 / 3.0 * mu * within("weight", weight, 0.0, 1e4, "N") * size)


def tumbling_torque(mass: Number, radius: Number, share: Number = 0.6) -> Floats:
    """Torque [N m] that lifts a wet load [kg] in a lying drum: m g times a lever.

    The middle of the load stands off by ``share`` [1] of the radius [m]; 0.6 for a drum half
    full is common practice, no source. At most 1: the load at the height of the axis.

    Examples
    --------
    >>> round(float(tumbling_torque(15.0, 0.25)), 1)
    22.1
    """
    lever = within("lever", share, 0.0, 1.0, "1") * within("radius", radius, 0.01, 1.0, "m")
    return np.asarray(within("wet load", mass, 0.0, 200.0, "kg") * STANDARD_GRAVITY * lever)


def torque_margin(there: Number, needed: Number) -> Floats:
    """How many times [1] the torque that is there covers the torque needed; inf for none.

    Below 1 the motor stalls or the belt slips.

    Examples
    --------
    >>> float(torque_margin(24.0, 8.0)), float(torque_margin(24.0, 0.0))
    (3.0, inf)
    """
    have = within("torque", there, 0.0, 1e4, "N m")
    with np.errstate(divide="ignore", invalid="ignore"):
        margin = have / within("torque needed", needed, 0.0, 1e4, "N m")
    return np.asarray(np.where(np.asarray(needed) > 0.0, margin, np.inf))


def factor_shares(factors: Floats) -> Floats:
    """Shares [1] of the factors of washing, shape (..., k), that sum to one.

    Time, temperature, movement and chemistry share the work (Sinner 1959/1960); less of one
    asks for more of another. How much one replaces the other no source gives.

    Examples
    --------
    >>> factor_shares(np.array([1.0, 1.0, 1.0, 1.0])).tolist()
    [0.25, 0.25, 0.25, 0.25]
    """
    parts = within("factor", factors, 0.0, 1e12, "1")
    total = within("sum of the factors", parts.sum(axis=-1), 1e-12, 1e13, "1")
    return np.asarray(parts / total[..., None])
