"""Tests of the spin: speed, drag, suds, swing, and an adaptive solver beside it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from made_machines import machine_of, putting, sound
from tubside.machine import basket
from tubside.machine.draws import Values
from tubside.machine.emptying import Emptying, empty
from tubside.machine.spinning import Spinning, Spun, spin, swings
from tubside.physics.suds import suds_left

FAMILIES = ("top_load", "front_load")


def spun(values: Values, water: float = -0.1, suds: float = 0.0, seconds: float = 420.0) -> Spun:
    """A spin with so much water over the basket's bottom and so high suds [m]."""
    level = values["basket_bottom"] + water
    return spin(values, Spinning(level, np.full_like(level, suds), seconds))


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize(("water", "suds"), [(-0.1, 0.0), (0.03, 0.0), (-0.1, 0.1), (0.03, 0.3)])
def test_speed_is_that_of_an_adaptive_solver(family: str, water: float, suds: float) -> None:
    """Tests the steps against scipy's LSODA on the same machine, within 3 % of full speed.

    The water stands still here (pump off), so that both solve the same equation; the
    bound is what 80 steps of first order leave where the speed turns from ramp to balance.
    """
    values = putting(sound(family), pump_strength=0.0, drain_lift=2.0)
    ours = spun(values, water, suds)
    torque, turning = basket.drive_torque(values), basket.inertia(values)

    def change(time: float, speed: np.ndarray) -> np.ndarray:
        now = np.clip(speed, 0.0, values["spin_speed"])
        depth = np.full(1, water)
        drag = basket.drag(values, now, depth, np.full(1, suds) * suds_left(time)).whole
        gain = np.minimum((torque - drag) / turning, basket.RAMP)
        return np.where((speed >= values["spin_speed"]) & (gain > 0.0), 0.0, gain)

    exact = solve_ivp(
        change, (0.0, 420.0), np.zeros(1), "LSODA", t_eval=ours.times, max_step=2.0, rtol=1e-6
    )
    off = np.abs(exact.y[0] - ours.speeds[:, 0])
    assert off.max() < 0.03 * values["spin_speed"][0]


@settings(deadline=None)  # the first draw loads scipy
@given(family=st.sampled_from(FAMILIES), torque=st.floats(0.0, 20.0), suds=st.floats(0.0, 0.33))
def test_speed_keeps_to_what_can_be(family: str, torque: float, suds: float) -> None:
    """Tests that the speed stays between rest and as built, whatever drags on it."""
    values = putting(sound(family, 4), spin_torque=torque)
    speeds = spun(values, 0.05, suds).speeds
    assert (speeds >= 0.0).all()
    assert (speeds <= values["spin_speed"] + 1e-9).all()


@settings(deadline=None)  # the first draw loads scipy
@given(family=st.sampled_from(FAMILIES), drag=st.floats(0.0, 12.0), more=st.floats(0.0, 6.0))
def test_more_drag_never_spins_faster(family: str, drag: float, more: float) -> None:
    """Tests that worn bearings only ever slow the basket."""
    values = sound(family)
    light = spun(putting(values, bearing_drag=drag)).speed
    heavy = spun(putting(values, bearing_drag=drag + more)).speed
    assert heavy[0] <= light[0] + 1e-9


def test_suds_in_the_gap_spoil_the_spin() -> None:
    """Tests a fact of the trade: a 15 mm gap full of suds drags enough to spoil a spin.

    Common practice, no source. The basket of a middle machine stays below four fifths of
    its speed for the first two minutes, without suds it is at full speed by then.
    """
    values = sound("top_load")
    foamy = spun(values, suds=basket.BASKET_DEPTH, seconds=120.0)
    clear = spun(values, seconds=120.0)
    assert clear.speed[0] == pytest.approx(values["spin_speed"][0])
    assert foamy.speed[0] < 0.8 * values["spin_speed"][0]
    assert foamy.suds_share[0] > 0.6


def test_waiting_lets_the_suds_collapse() -> None:
    """Tests a fact of the trade: after 10 to 15 minutes of waiting the same spin succeeds.

    Common practice, no source.
    """
    values = sound("top_load")
    for minutes in (10.0, 15.0):
        left = basket.BASKET_DEPTH * float(suds_left(60.0 * minutes))
        waited = spun(values, suds=left, seconds=120.0)
        assert waited.speed[0] == pytest.approx(values["spin_speed"][0])


def test_a_drain_slow_enough_to_leave_water_makes_the_spin_drag() -> None:
    """Tests a fact of the trade: water left at the basket's bottom, unnoticed, drags.

    Common practice, no source. The drain is slow, yet the tub reads empty in time; what
    stands above the basket's bottom then holds the basket back.
    """
    limits = machine_of("top_load").controller
    values = putting(sound("top_load"), pump_strength=0.47, drain_lift=0.9)
    start = values["level_target"]
    drained = empty(
        values,
        Emptying(
            start,
            np.zeros_like(start),
            limits["drain_timeout"],
            limits["drain_after"],
            limits["empty_level"],
        ),
    )
    assert drained.read_empty[0] < limits["drain_timeout"]
    assert drained.left[0] > values["basket_bottom"][0]
    none = np.zeros_like(start)
    wet = spin(values, Spinning(drained.left, none, 120.0))
    dry = spin(values, Spinning(none - 0.05, none, 120.0))
    assert (wet.torques / dry.torques).max() > 2.0
    assert (wet.speeds[1:] / dry.speeds[1:]).min() < 0.85


@pytest.mark.parametrize("family", FAMILIES)
def test_tired_rods_swing_more_on_the_way_up(family: str) -> None:
    """Tests that less damping makes the passage through resonance larger, the end no less."""
    values = sound(family, 32)
    worn = putting(values, damping_ratio=0.05)
    assert (spun(worn).swing > 1.5 * spun(values).swing).all()
    assert (spun(worn).swing_at_end >= spun(values).swing_at_end * 0.99).all()


@settings(deadline=None)  # the first draw loads scipy
@given(offset=st.floats(0.05, 4.0), factor=st.floats(1.1, 4.0))
def test_swing_is_proportional_to_the_load_off_the_axis(offset: float, factor: float) -> None:
    """Tests that twice the mass off the axis swings the tub twice as far."""
    values = sound("front_load")
    small = spun(putting(values, load_offset=offset)).swing
    large = spun(putting(values, load_offset=factor * offset)).swing
    assert large == pytest.approx(factor * small, rel=1e-9)


def test_a_basket_that_stays_below_resonance_has_no_passage() -> None:
    """Tests that a basket held slow swings by its steady speed alone."""
    values = putting(sound("top_load"), spin_speed=4.0)
    turned = spun(values)
    assert turned.swing == pytest.approx(basket.swing_at(values, turned.speed))


def test_transit_packing_makes_the_cabinet_walk() -> None:
    """Tests that a tub held fast passes its whole force on to the floor."""
    values = sound("front_load")
    held = putting(values, spring_stiffness=40.0 * values["spring_stiffness"][0])
    assert spun(values).walking[0] < 1.0
    assert spun(held).walking[0] > 1.5


def test_the_drawn_swing_has_its_largest() -> None:
    """Tests that the course of the swing reaches the largest, and no more."""
    values = putting(sound("front_load"), damping_ratio=0.05)
    turned = spun(values)
    course = swings(values, turned)
    assert course.max() == pytest.approx(turned.swing[0])
