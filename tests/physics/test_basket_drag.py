"""Tests of what holds a basket back."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics import basket_drag as drag

SPEEDS = st.floats(1.0, 150.0)


@given(SPEEDS, st.floats(0.1, 20.0), st.floats(-0.1, 0.3), st.floats(0.001, 0.2))
def test_drag_grows(speed: float, faster: float, depth: float, deeper: float) -> None:
    """Tests that speed and depth never lower the torque of the water, and none wets nothing."""
    there = drag.water_torque(speed, 0.25, depth)
    assert drag.water_torque(speed + faster, 0.25, depth) >= there
    assert drag.water_torque(speed, 0.25, depth + deeper) >= there
    assert (float(there) > 0.0) == (depth > 0.0)


@given(st.floats(5.0, 100.0))
def test_turbulent_exponent(speed: float) -> None:
    """Tests that twice the speed takes 2^1.8 times the torque once the flow is turbulent."""
    if speed * 0.25**2 * 998.2 / 1e-3 > 4e5:
        twice = drag.disc_torque(2.0 * speed, 0.25) / drag.disc_torque(speed, 0.25)
        assert float(twice) == pytest.approx(2.0**1.8, rel=1e-9)


@given(st.floats(20.0, 120.0), st.floats(0.5, 20.0), st.floats(0.0, 3.0), st.floats(1e-5, 1e-2))
def test_reached_speed_balances(
    as_built: float, torque: float, rubbing: float, square: float
) -> None:
    """Tests against the root of the balance: at most as built, 0 when rubbing holds it."""
    reached = float(drag.reached_speed(as_built, torque, lambda w: rubbing + square * w**2))
    balance = np.sqrt(max(torque - rubbing, 0.0) / square)
    assert reached == pytest.approx(min(as_built, balance), rel=1e-6, abs=1e-5)


def test_reached_speed_of_many() -> None:
    """Tests that machines do not mix, with drag of its own for each."""
    rubbing = np.array([0.0, 4.0, 30.0])
    reached = drag.reached_speed(80.0, 10.0, lambda w: rubbing + 0.0 * w)
    assert reached.tolist() == [80.0, 80.0, 0.0]


@given(st.floats(0.1, 5.0), st.floats(0.1, 5.0), st.floats(0.0, 100.0))
def test_running_up_and_down(inertia: float, drag_torque: float, speed: float) -> None:
    """Tests that running down takes as long as running up with twice the drag as torque."""
    down = float(drag.run_down_time(inertia, drag_torque, speed))
    up = float(drag.run_up_time(inertia, 2.0 * drag_torque, drag_torque, speed))
    assert down == pytest.approx(up)
    assert float(drag.run_up_time(inertia, drag_torque, drag_torque, speed)) == np.inf


def test_no_gap_is_an_error() -> None:
    """Tests that bowls that touch are outside the formula."""
    with pytest.raises(OutsideRangeError, match="gap"):
        drag.wall_torque(60.0, 0.25, 0.05, 0.0)
