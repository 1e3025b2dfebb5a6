"""Facts that every repairer knows, held against the physics: common practice, no source.

Numbers are of a usual top-loader: basket of 0.25 m radius and 0.33 m depth, 40 kg on
springs of 6 kN/m (natural frequency some 2 a second), 10 N m at the basket, 640 turns a minute.
"""

from __future__ import annotations

import numpy as np
import pytest

from tubside.physics import suspension
from tubside.physics.basket_drag import reached_speed, water_torque
from tubside.physics.floating import basket_rise, engagement_level
from tubside.physics.suds import GAP, suds_left, suds_share, suds_torque
from tubside.physics.validity import Floats

RADIUS, DEPTH, MASS, STIFFNESS = 0.25, 0.33, 40.0, 6000.0
BUILT = 640.0 * 2.0 * np.pi / 60.0
TORQUE, BEARINGS = 10.0, 1.0
NEW, TIRED, WORN = 0.8, 0.3, 0.06
"""Damping ratios of rods as new, tired and worn out: common practice, no source."""

TIMES = np.linspace(0.0, 6.0, 6001)


def swings(ratio: float) -> Floats:
    """Return the heights of the swings past the rest, as shares of the press, seen by eye."""
    place = suspension.released(TIMES, 1.0, np.sqrt(STIFFNESS / MASS), ratio)
    turning = np.flatnonzero(np.diff(np.sign(np.diff(place)))) + 1
    heights = np.abs(place[turning])
    return np.asarray(heights[heights >= suspension.SEEN])


def time_to_rise(ratio: float) -> float:
    """Return when a pressed tub first comes within a tenth of its rest [s]."""
    place = suspension.released(TIMES, 1.0, np.sqrt(STIFFNESS / MASS), ratio)
    return float(TIMES[np.argmax(place < 0.1)])


def spin_share(suds_height: float, water: float = -0.1) -> float:
    """Return the speed reached, as a share of the speed as built."""
    reached = reached_speed(
        BUILT,
        TORQUE,
        lambda w: BEARINGS + suds_torque(w, RADIUS, suds_height) + water_torque(w, RADIUS, water),
    )
    return float(reached / BUILT)


def test_suds_in_the_gap_spoil_a_spin() -> None:
    """Tests that suds that fill 15 mm between the bowls hold the basket well below its speed."""
    assert GAP == 0.015
    assert spin_share(0.0) == 1.0
    assert spin_share(DEPTH) < 0.75


def test_waiting_lets_suds_collapse() -> None:
    """Tests that after 10 to 15 minutes of waiting the same suds no longer hold the basket."""
    for minutes in (10.0, 15.0):
        left = float(suds_left(60.0 * minutes))
        assert left < 0.2
        assert spin_share(DEPTH * left) == 1.0
    assert spin_share(DEPTH * float(suds_left(60.0))) < 1.0


def test_the_right_dose_makes_no_trouble() -> None:
    """Tests that the right dose leaves the spin alone and five times as much spoils it."""
    assert spin_share(DEPTH * float(suds_share(1.0))) == 1.0
    assert spin_share(DEPTH * float(suds_share(5.0))) < 0.9


def test_new_rods_return_without_overshoot() -> None:
    """Tests that on new rods the tub comes back and stays: no swing to be seen."""
    assert swings(NEW).size == 0


def test_tired_rods_swing_once_or_twice() -> None:
    """Tests that on tired rods there are one or two small swings."""
    seen = swings(TIRED)
    assert 1 <= seen.size <= 2
    assert seen.max() < 0.5


def test_worn_out_rods_rise_fast_and_keep_swinging() -> None:
    """Tests that on worn-out rods the tub rises sooner than on new ones and does not settle."""
    assert time_to_rise(WORN) < time_to_rise(TIRED) < time_to_rise(NEW)
    assert swings(WORN).size >= 8
    assert swings(WORN)[0] > 0.75


def test_four_rods_share_the_load() -> None:
    """Tests that four rods swing as one of a quarter of the load, by viscous and dry damping."""
    four = suspension.natural_frequency(4 * 1500.0, MASS)
    assert float(four) == pytest.approx(float(suspension.natural_frequency(1500.0, MASS / 4)))
    dry = [suspension.damping_of_friction(n * 12.0, n * 1500.0, 0.02) for n in (1, 4)]
    assert float(dry[0]) == pytest.approx(float(dry[1]))


def test_a_filling_tub_sinks_while_the_basket_floats_up() -> None:
    """Tests that with rising water the tub sinks on its springs, the basket rises in it.

    Up to the level at which the agitator is free.
    """
    levels = np.linspace(0.0, 0.30, 61)
    sunk = suspension.sink(1000.0 * 0.2 * levels, STIFFNESS)
    risen = basket_rise(levels, 6.0, 0.12, 0.02)
    assert (np.diff(sunk) > 0.0).all()
    assert (np.diff(risen) >= 0.0).all()
    free = float(engagement_level(6.0, 0.12, 0.012))
    assert (risen[levels > free] > 0.012).all()
    assert (risen[levels < free - 1e-9] < 0.012).all()
    assert risen[0] == 0.0


def test_water_at_the_bottom_makes_the_spin_drag() -> None:
    """Tests that water that a slow drain leaves at the basket's bottom holds the basket back.

    Enough to slow it, not enough to stop it: nobody notices that the drain is slow.
    """
    dry, wet = spin_share(0.0, -0.01), spin_share(0.0, 0.05)
    assert dry == 1.0
    assert 0.5 < wet < 0.95
