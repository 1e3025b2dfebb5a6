"""Tests of dead leg and store."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics import hot_supply, water
from tubside.physics.hot_supply import HotSupply

SUPPLY = HotSupply(hot=333.15, cold=287.15, pipe=293.15, dead_leg=4e-3, store=0.090)
draws = st.floats(0.0, 0.3)


@settings(deadline=None)
@given(st.floats(5e-3, 0.05), st.floats(0.0, 100.0))
def test_length_comes_back(bore: float, length: float) -> None:
    """Tests that the pipe which holds a dead leg is as long as the leg's."""
    held = hot_supply.dead_leg(bore, length)
    assert float(hot_supply.pipe_length(held, bore)) == pytest.approx(length, abs=1e-9)


@settings(deadline=None)
@given(st.floats(5e-3, 0.05), st.floats(1e-4, 2e-3), st.floats(1e-4, 2e-3))
def test_walls_delay(bore: float, one: float, two: float) -> None:
    """Tests that a thicker wall takes more water to warm, a foil none."""
    low, high = sorted((one, two))
    assert 1.0 < hot_supply.wall_delay(bore, low) <= hot_supply.wall_delay(bore, high)
    assert float(hot_supply.wall_delay(bore, 0.0)) == 1.0


def test_no_flow_never_warms() -> None:
    """Tests that hot never arrives without flow, and at once without a leg."""
    found = hot_supply.time_to_hot(np.array([4e-3, 0.0]), 0.0)
    assert found.tolist() == [np.inf, 0.0]


@settings(deadline=None)
@given(draws)
def test_heat_of_the_draw_adds_up(drawn: float) -> None:
    """Tests that water drawn holds the heat of pipe, hot and refill that came (1e-6)."""
    mixed = float(hot_supply.drawn_temperature(SUPPLY, drawn))
    first = min(drawn, 4e-3)
    hot = min(max(drawn - 4e-3, 0.0), 0.090)
    last = max(drawn - first - hot, 0.0)
    parts = ((first, 293.15), (hot, 333.15), (last, 287.15))
    mass = sum(v * float(water.density(t)) for v, t in parts)
    heat = sum(v * float(water.density(t) * water.enthalpy(t)) for v, t in parts)
    if drawn > 1e-3:
        assert mass * float(water.enthalpy(mixed)) == pytest.approx(heat, rel=1e-6)


def test_order_of_the_tap() -> None:
    """Tests that cold pipe, hot store and refill follow each other at the tap."""
    litres = np.array([0.0, 3.9, 4.1, 93.9, 94.1])
    assert hot_supply.tap_temperature(SUPPLY, litres / 1e3).tolist() == [
        293.15,
        293.15,
        333.15,
        333.15,
        287.15,
    ]


@settings(deadline=None)
@given(draws, draws)
def test_stirred_store_only_cools(one: float, two: float) -> None:
    """Tests that a stirred store cools with each litre, between hot and cold."""
    less, more = sorted((one, two))
    early = hot_supply.stirred_store(333.15, 287.15, 0.1, less)
    late = hot_supply.stirred_store(333.15, 287.15, 0.1, more)
    assert 287.15 <= late <= early <= 333.15


def test_what_cannot_be_is_refused() -> None:
    """Tests that negative draws and bores are refused."""
    with pytest.raises(OutsideRangeError, match="drawn"):
        hot_supply.tap_temperature(SUPPLY, -1e-3)
    with pytest.raises(OutsideRangeError, match="bore"):
        hot_supply.dead_leg(-0.01, 5.0)
