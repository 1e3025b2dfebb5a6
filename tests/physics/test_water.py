"""Tests of the properties of water."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics import water
from tubside.physics.validity import Floats, Number

kelvins = st.floats(273.15, 373.15)
Property = Callable[[Number], Floats]


@settings(deadline=None)
@given(kelvins, kelvins)
def test_enthalpy_rises(one: float, two: float) -> None:
    """Tests that warmer water holds more heat, and is thinner."""
    low, high = min(one, two), max(one, two)
    assert water.enthalpy(low) <= water.enthalpy(high)
    assert water.viscosity(low) >= water.viscosity(high)


@settings(deadline=None)
@given(kelvins)
def test_heat_capacity_is_the_slope(kelvin: float) -> None:
    """Tests that heat capacity is the slope of enthalpy, to 1e-5."""
    middle = min(max(kelvin, 273.16), 373.14)
    slope = (water.enthalpy(middle + 0.01) - water.enthalpy(middle - 0.01)) / 0.02
    assert float(slope) == pytest.approx(float(water.heat_capacity(middle)), rel=1e-5)


@settings(deadline=None)
@given(kelvins)
def test_temperature_comes_back(kelvin: float) -> None:
    """Tests that temperature to enthalpy and back leaves it within 1e-8 K."""
    assert float(water.temperature_of_enthalpy(water.enthalpy(kelvin))) == pytest.approx(
        kelvin, abs=1e-8
    )


def test_densest_at_four_degrees() -> None:
    """Tests that water is densest at 3.98 C (the temperature of maximum density)."""
    grid = np.arange(274.0, 283.0, 0.01)
    assert float(grid[np.argmax(water.density(grid))]) == pytest.approx(273.15 + 3.98, abs=0.02)


@pytest.mark.parametrize(
    "function", [water.density, water.viscosity, water.heat_capacity, water.enthalpy]
)
@pytest.mark.parametrize("kelvin", [273.0, 373.3, float("nan")])
def test_ice_and_steam_are_refused(function: Property, kelvin: float) -> None:
    """Tests that no property is given outside 0 to 100 C, nor of no number."""
    with pytest.raises(OutsideRangeError, match="temperature"):
        function(kelvin)


def test_too_much_heat_is_refused() -> None:
    """Tests that heat which no liquid water holds has no temperature."""
    with pytest.raises(OutsideRangeError, match="enthalpy"):
        water.temperature_of_enthalpy(5e5)


@pytest.mark.parametrize(
    "function", [water.density, water.viscosity, water.heat_capacity, water.enthalpy]
)
def test_arrays_are_taken_whole(function: Property) -> None:
    """Tests that an array of any shape gives the single values in that shape."""
    grid = np.linspace(280.0, 360.0, 6).reshape(2, 3)
    assert function(grid).shape == (2, 3)
    assert function(grid)[1, 2] == function(360.0)
