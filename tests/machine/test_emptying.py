"""Tests of the drain against the closed formula, and of what it leaves."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from made_machines import machine_of, putting, sound
from tubside.machine.draws import Values
from tubside.machine.emptying import Emptied, Emptying, drain_time, empty
from tubside.physics import drain as physics

FAMILIES = ("top_load", "front_load")


def emptied(family: str, values: Values, start: float | None = None) -> Emptied:
    """A drain from the target, by the family's limits."""
    limits = machine_of(family).controller
    level = values["level_target"] if start is None else np.full_like(values["tub_area"], start)
    emptying = Emptying(
        level,
        np.zeros_like(level),
        limits["drain_timeout"],
        limits["drain_after"],
        limits["empty_level"],
    )
    return empty(values, emptying)


@pytest.mark.parametrize("family", FAMILIES)
def test_time_of_a_drain_is_that_of_the_closed_formula(family: str) -> None:
    """Tests the cells of level against 2 A sqrt(c) (sqrt(y1) - sqrt(y2)), within 0.5 %.

    The closed formula takes the hose's friction at the middle of the way, which is good
    for 1 % by its own account; the cells need no such mean.
    """
    values = putting(sound(family, 64), standpipe_flow=0.01)
    pump = physics.DrainPump(values["pump_head"], values["pump_flow"], values["pump_strength"])
    tub = physics.Emptying(pump, values["tub_area"], values["drain_lift"], values["drain_open"])
    closed = physics.drain_time(tub, values["level_target"], 0.02)
    assert drain_time(values, values["level_target"], 0.02) == pytest.approx(closed, rel=5e-3)


@settings(deadline=None)  # the first draw loads scipy
@given(
    family=st.sampled_from(FAMILIES),
    strength=st.floats(0.0, 1.0),
    blocked=st.floats(0.0, 1.0),
    lift=st.floats(-0.5, 3.0),
    house=st.floats(0.0, 1e-3),
    leak=st.floats(0.0, 2e-4),
)
def test_what_was_there_went_out_or_is_left(
    family: str, strength: float, blocked: float, lift: float, house: float, leak: float
) -> None:
    """Tests that the water before and through the valves is the water out and left."""
    values = putting(
        sound(family, 4),
        pump_strength=strength,
        drain_open=blocked,
        drain_lift=lift,
        standpipe_flow=house,
        valve_leak=leak,
    )
    done = emptied(family, values)
    before = values["level_target"] * values["tub_area"] + leak * done.seconds
    assert before == pytest.approx(done.left * values["tub_area"] + done.out, abs=1e-12)
    assert (done.out >= -1e-15).all()


@settings(deadline=None)  # the first draw loads scipy
@given(family=st.sampled_from(FAMILIES), low=st.floats(0.0, 1.0), more=st.floats(0.0, 1.0))
def test_a_freer_drain_is_never_slower(family: str, low: float, more: float) -> None:
    """Tests that less blockage never makes the drain longer."""
    values = sound(family, 4)
    narrow = putting(values, drain_open=low)
    wide = putting(values, drain_open=low + (1.0 - low) * more)
    slow = drain_time(narrow, narrow["level_target"], 0.0)
    fast = drain_time(wide, wide["level_target"], 0.0)
    assert (fast <= slow * (1.0 + 1e-9)).all()


def test_a_hose_too_high_for_a_worn_pump_leaves_water() -> None:
    """Tests that the pump lifts no lower than its head allows."""
    values = putting(sound("top_load"), pump_strength=0.5, drain_lift=1.15)
    done = emptied("top_load", values)
    # head 0.5 x 2 m under a hose at 1.15 m: 0.15 m stands
    assert done.left[0] == pytest.approx(0.15, abs=0.005)
    assert np.isinf(done.read_empty).all()


def test_a_house_drain_that_takes_little_holds_the_pump_back() -> None:
    """Tests that the house's drain bounds the flow, and so the time."""
    values = sound("top_load")
    free = emptied("top_load", values).read_empty[0]
    slow = emptied("top_load", putting(values, standpipe_flow=8.0 / 60e3)).read_empty[0]
    fall = (values["level_target"][0] - machine_of("top_load").controller["empty_level"]) * (
        values["tub_area"][0]
    )
    assert slow == pytest.approx(fall / (8.0 / 60e3), rel=0.02)
    assert slow > 1.5 * free


def test_a_sensor_that_reads_high_never_reads_empty() -> None:
    """Tests that an empty tub is not noticed by a sensor that errs upwards."""
    values = putting(sound("top_load"), level_offset=0.10)
    assert np.isinf(emptied("top_load", values).read_empty).all()
