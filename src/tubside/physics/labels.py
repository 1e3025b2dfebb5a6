"""Energy label of washing machines and what is left in the laundry: regulation figures."""

from __future__ import annotations

import numpy as np

from tubside.physics.validity import Floats, Number, within

KWH = 3.6e6
CUBIC_FOOT = 0.3048**3
POUND = 0.45359237

MOISTURE_CLASSES = "ABCDEFG"
MOISTURE_ENDS = (0.45, 0.54, 0.63, 0.72, 0.81, 0.90)
"""Ends [1] of the spin-drying classes A to F; from 90 % G. Regulation (EU) 2019/2014, Annex II
(from memory, 95 %)."""

OLD_DRYER_CLASS_A = {"vented": 0.51 * KWH, "condenser": 0.55 * KWH}
"""Most [J] for a kilogram of load in class A of the old dryer label: UK SI 1996/601, Schedule 4."""


def standard_energy(capacity: Number) -> Floats:
    """Standard energy of a cycle [J] for a rated capacity [kg].

    -0.0025 c^2 + 0.0846 c + 0.3920 kWh, rounded to three places (UK SI 2021/745, Schedule 10,
    paragraph 2 = Regulation (EU) 2019/2014, Annex IV). Household machines of 1 to 25 kg; the
    parabola falls from 16.9 kg on, so above 16 kg there is an error.

    Examples
    --------
    >>> round(float(standard_energy(7.0)) / 3.6e6, 3)
    0.862
    """
    c = within("rated capacity", capacity, 1.0, 16.0, "kg")
    return np.asarray(np.round(-0.0025 * np.square(c) + 0.0846 * c + 0.3920, 3) * KWH)


def load_weights(capacity: Number) -> Floats:
    """Weights [1], shape (..., 3), of full, half and quarter load for a capacity [kg].

    -0.0391 c + 0.6918, -0.0109 c + 0.3582 and the rest, rounded to three places (Regulation
    (EU) 2019/2014, Annex IV; from memory, 85 %).

    Examples
    --------
    >>> load_weights(8.0).tolist()
    [0.379, 0.271, 0.35]
    """
    c = within("rated capacity", capacity, 1.0, 16.0, "kg")
    full = np.round(-0.0391 * c + 0.6918, 3)
    half = np.round(-0.0109 * c + 0.3582, 3)
    return np.asarray(np.round(np.stack([full, half, 1.0 - full - half], axis=-1), 3))


def weighted_energy(full: Number, half: Number, quarter: Number, capacity: Number) -> Floats:
    """Energy of a cycle [J], weighted over three loads [J each], rounded as the label is.

    Examples
    --------
    >>> round(float(weighted_energy(0.9 * 3.6e6, 0.6 * 3.6e6, 0.35 * 3.6e6, 8.0)) / 3.6e6, 3)
    0.626
    """
    loads = [within("energy", each, 0.0, 1e9, "J") for each in (full, half, quarter)]
    parts = np.stack(np.broadcast_arrays(*loads), axis=-1)
    return np.asarray(np.round(np.sum(parts * load_weights(capacity), axis=-1) / KWH, 3) * KWH)


def energy_index(energy: Number, capacity: Number) -> Floats:
    """Energy efficiency index [1]: 100 times the energy [J] over the standard one.

    Rounded to one place (UK SI 2021/745, Schedule 10, paragraph 2).

    Examples
    --------
    >>> round(float(energy_index(0.626 * 3.6e6, 8.0)), 1)
    68.9
    """
    used = within("energy", energy, 0.0, 1e9, "J")
    return np.asarray(np.round(100.0 * used / standard_energy(capacity), 1))


def small_test_load(volume: Number) -> Floats:
    """Small test load [kg] for a drum volume [m3]: 0.90 V + 2.34, in pounds and cubic feet.

    86 FR 49158 (2021), equation III.1, a proposal. From 0.8 to 6 cubic feet.

    Examples
    --------
    >>> round(float(small_test_load(0.085)) / 0.45359237, 2)
    5.04
    """
    feet = within("drum volume", volume, 0.02, 0.17, "m3") / CUBIC_FOOT
    return np.asarray((0.90 * feet + 2.34) * POUND)


def moisture(wet: Number, dry: Number) -> Floats:
    """Remaining moisture [1] of laundry: (wet - dry) / dry, masses [kg].

    What a spin leaves depends on cloth, warmth and time besides the pull; no law that a
    source supports is given here.

    Raises
    ------
    OutsideRangeError
        If the wet laundry is lighter than the dry.

    Examples
    --------
    >>> round(float(moisture(7.2, 5.0)), 2)
    0.44
    """
    excess = np.asarray(wet, dtype=float) / within("dry mass", dry, 1e-3, 1e3, "kg") - 1.0
    return within("remaining moisture", excess, 0.0, 10.0, "1")


def moisture_class(remaining: Number) -> np.ndarray:
    """Spin-drying class, a letter A to G for each remaining moisture [1].

    Examples
    --------
    >>> str(moisture_class(0.44)), str(moisture_class(0.45))
    ('A', 'B')
    """
    left = within("remaining moisture", remaining, 0.0, 10.0, "1")
    return np.array(list(MOISTURE_CLASSES))[np.searchsorted(MOISTURE_ENDS, left, side="right")]
