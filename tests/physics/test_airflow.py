"""Tests of air in ducts and the fan that moves it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.physics import airflow
from tubside.physics.airflow import Fan
from tubside.physics.pipes import Pipe

AIR = airflow.air_at(318.15, 0.02)
fans = st.builds(Fan, st.floats(50.0, 800.0), st.floats(0.02, 0.2))
ducts = st.builds(
    Pipe, st.floats(0.05, 0.2), st.floats(0.0, 30.0), st.floats(0.0, airflow.FLEXIBLE * 0.8)
)


@settings(deadline=None)
@given(fans, ducts, st.floats(0.0, 1e3), st.floats(0.0, 1e6))
def test_fan_gives_what_the_way_takes(fan: Fan, duct: Pipe, losses: float, inside: float) -> None:
    """Tests that at the flow found the fan's pressure is the loss, within 0.3 %."""
    flow = float(airflow.flow_through(fan, duct, AIR, losses, inside))
    if flow * 4 / (np.pi * 0.05) > 4000 * float(AIR.kinematic):
        way = float(airflow.duct_loss(duct, flow, AIR, losses)) + inside * flow**2
        assert float(airflow.fan_pressure(fan, flow)) == pytest.approx(
            way, rel=3e-3, abs=3e-3 * float(np.asarray(fan.pressure))
        )


@settings(deadline=None)
@given(fans, ducts, st.floats(0.0, 100.0), st.floats(0.1, 100.0))
def test_more_in_the_way_moves_less(fan: Fan, duct: Pipe, losses: float, more: float) -> None:
    """Tests that another fitting only lowers the flow."""
    low = airflow.flow_through(fan, duct, AIR, losses + more, 1e4)
    high = airflow.flow_through(fan, duct, AIR, losses, 1e4)
    assert float(low) <= float(high)


def test_shut_is_none() -> None:
    """Tests that a shut duct passes no air and a fan without pressure moves none."""
    duct = Pipe(0.1, 3.0)
    assert float(airflow.flow_through(Fan(300.0, 0.1), duct, AIR, np.inf, 1e4)) == 0.0
    assert float(airflow.flow_through(Fan(0.0, 0.1), duct, AIR, 3.0, 1e4)) == 0.0


def test_many_at_once() -> None:
    """Tests that arrays of machines give what each gives alone."""
    bores = np.array([0.08, 0.1, 0.12])
    whole = airflow.flow_through(Fan(300.0, 0.1), Pipe(bores, 5.0), AIR, 2.0, 1e4)
    each = [
        float(airflow.flow_through(Fan(300.0, 0.1), Pipe(b, 5.0), AIR, 2.0, 1e4)) for b in bores
    ]
    assert whole == pytest.approx(each)


def test_speed_and_flow() -> None:
    """Tests that a speed at the centre counts for less than the mean speed."""
    mean = float(airflow.flow_of_speed(8.0, 0.01))
    assert float(airflow.flow_of_speed(8.0, 0.01, 0.82)) == pytest.approx(0.82 * mean)
