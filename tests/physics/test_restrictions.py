"""Tests of orifice, valve, screen and narrowing."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics import restrictions
from tubside.physics.validity import Floats, Number

shares = st.floats(0.0, 1.0)


@settings(deadline=None)
@given(shares, shares)
def test_more_open_loses_less(one: float, two: float) -> None:
    """Tests that screen and narrowing lose less the wider they are."""
    low, high = sorted((one, two))
    for loss in (restrictions.screen_loss, restrictions.narrowing_loss):
        assert loss(low) >= loss(high)


@pytest.mark.parametrize("loss", [restrictions.screen_loss, restrictions.narrowing_loss])
def test_ends(loss: Callable[[Number], Floats]) -> None:
    """Tests that a wide way loses nothing and a shut one everything."""
    assert loss(np.array([0.0, 1.0])).tolist() == [np.inf, 0.0]


@settings(deadline=None)
@given(st.floats(1e-3, 100.0), st.floats(1.0, 1e6))
def test_kv_comes_back(kv: float, pressure: float) -> None:
    """Tests that the Kv of the flow through a valve is that of the valve."""
    flow = restrictions.kv_flow(kv, pressure, 990.0)
    assert float(restrictions.kv_of(flow, pressure, 990.0)) == pytest.approx(kv, rel=1e-9)


@settings(deadline=None)
@given(st.floats(1e-6, 1e3), st.floats(0.0, 1e6), st.floats(0.0, 1e6))
def test_resistances_add(kv: float, one: float, two: float) -> None:
    """Tests that two ways in a row let through less than either, and lose what is there."""
    first = float(restrictions.kv_resistance(kv))
    both = first + float(restrictions.loss_resistance(2.0, 1e-4, 1000.0))
    flow = float(restrictions.flow_through(both, one + two))
    assert flow <= float(restrictions.flow_through(first, one + two)) + 1e-15
    assert both * flow**2 == pytest.approx(one + two, rel=1e-9, abs=1e-9)


def test_shut_valve_passes_nothing() -> None:
    """Tests that a shut valve passes nothing at any pressure."""
    assert float(restrictions.kv_flow(0.0, 1e6)) == 0.0


def test_four_times_the_pressure_doubles_the_flow() -> None:
    """Tests the square root of orifice and valve."""
    assert float(restrictions.orifice_flow(4e5, 0.003)) == pytest.approx(
        2 * float(restrictions.orifice_flow(1e5, 0.003))
    )
    assert float(restrictions.kv_flow(2.0, 4e5)) == pytest.approx(
        2 * float(restrictions.kv_flow(2.0, 1e5))
    )


def test_what_cannot_be_is_refused() -> None:
    """Tests that shares above one, negative pressures and sizes are refused."""
    with pytest.raises(OutsideRangeError, match="open share"):
        restrictions.screen_loss(1.2)
    with pytest.raises(OutsideRangeError, match="pressure"):
        restrictions.orifice_flow(-1.0, 0.005)
    with pytest.raises(OutsideRangeError, match="Kv"):
        restrictions.kv_resistance(-0.1)
