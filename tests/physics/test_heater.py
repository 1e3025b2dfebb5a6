"""Tests of water on a heater."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics import heater
from tubside.physics.heater import Bath

baths = st.builds(Bath, st.floats(1e4, 4e5), st.floats(0.0, 40.0), st.floats(278.0, 308.0))
powers = st.floats(0.0, 3000.0)
starts = st.floats(278.0, 323.0)


@settings(deadline=None)
@given(baths, powers, starts, st.floats(0.0, 7200.0))
def test_time_and_rise_agree(bath: Bath, power: float, start: float, seconds: float) -> None:
    """Tests that the time to a temperature that was reached is the time it took (1e-6)."""
    reached = float(heater.heated(bath, power, start, seconds))
    end = float(np.asarray(bath.room)) + power / max(float(np.asarray(bath.loss)), 1e-9)
    if reached < 373.0 and reached - start > 0.1 and end - reached > 0.1:
        found = float(heater.heating_time(bath, power, start, reached))
        assert found == pytest.approx(seconds, rel=1e-6)


@settings(deadline=None)
@given(baths, starts, st.floats(0.0, 7200.0))
def test_without_power_it_tends_to_the_room(bath: Bath, start: float, seconds: float) -> None:
    """Tests that unheated water only nears the room's temperature."""
    found = float(heater.heated(bath, 0.0, start, seconds))
    room = float(np.asarray(bath.room))
    assert min(start, room) - 1e-9 <= found <= max(start, room) + 1e-9


@settings(deadline=None)
@given(powers, starts, st.floats(0.0, 3600.0), st.floats(0.0, 40.0), st.floats(0.0, 40.0))
def test_losses_only_slow(
    power: float, start: float, seconds: float, one: float, two: float
) -> None:
    """Tests that with a room no warmer than the water more loss never heats more."""
    low, high = sorted((one, two))
    warm = heater.heated(Bath(7e4, low, 278.0), power, start, seconds)
    cool = heater.heated(Bath(7e4, high, 278.0), power, start, seconds)
    assert float(cool) <= float(warm) + 1e-9


def test_energy_is_kept_without_loss() -> None:
    """Tests that with no loss the heat given is the heat stored."""
    found = float(heater.heated(Bath(70e3, 0.0, 293.15), 2000.0, 288.15, 1200.0))
    assert (found - 288.15) * 70e3 == pytest.approx(2000.0 * 1200.0, rel=1e-9)


@pytest.mark.parametrize(("power", "loss"), [(0.0, 5.0), (100.0, 5.0), (0.0, 0.0)])
def test_never_hot(power: float, loss: float) -> None:
    """Tests that a dead heater and one weaker than the loss never get there."""
    bath = Bath(70e3, loss, 293.15)
    assert float(heater.heating_time(bath, power, 293.15, 333.15)) == np.inf
    assert float(heater.heating_time(bath, power, 333.15, 333.15)) == 0.0


def test_boiling_ends_it() -> None:
    """Tests that water does not get hotter than 100 C."""
    assert float(heater.heated(Bath(1e4, 0.0, 293.15), 3000.0, 360.0, 7200.0)) == 373.15


def test_load_is_heated_too() -> None:
    """Tests that laundry and steel add their part."""
    bare = float(heater.bath_capacity(0.015, 313.15, 0.0, 0.0))
    assert float(heater.bath_capacity(0.015, 313.15, 2.0, 10.0)) == pytest.approx(
        bare + 2.0 * heater.COTTON + 10.0 * heater.STEEL
    )


def test_what_cannot_be_is_refused() -> None:
    """Tests that negative power and an empty bath are refused."""
    with pytest.raises(OutsideRangeError, match="power"):
        heater.rise_rate(Bath(70e3, 5.0, 293.15), -1.0, 300.0)
    with pytest.raises(OutsideRangeError, match="heat capacity"):
        heater.heated(Bath(0.0, 5.0, 293.15), 1.0, 300.0, 1.0)
