"""Tests of copper against temperature, and wire."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics.electrics import copper

TEMPERATURES = st.floats(253.15, 423.15)


@given(st.floats(0.1, 1e4), TEMPERATURES)
def test_to_a_temperature_and_back(ohms: float, temperature: float) -> None:
    """Tests that the resistance at 20 C comes back."""
    warm = copper.winding_resistance(ohms, temperature)
    assert float(copper.winding_at_20(warm, temperature)) == pytest.approx(ohms)


@given(st.floats(0.1, 1e4), TEMPERATURES, TEMPERATURES)
def test_warming_is_the_difference_of_temperatures(ohms: float, cold: float, hot: float) -> None:
    """Tests that a winding taken from one temperature to another has warmed by just that."""
    r1, r2 = (copper.winding_resistance(ohms, t) for t in (cold, hot))
    assert float(copper.winding_warming(r1, r2, cold, cold)) == pytest.approx(hot - cold, abs=1e-8)


@given(st.floats(283.15, 373.15))
def test_the_two_forms_differ_by_little_and_on_one_side(temperature: float) -> None:
    """Tests that winding and cable form agree at 20 C and differ by up to 0.5 % at 100 C."""
    winding = 1.0 / copper.winding_resistance(1.0, temperature)
    ratio = float(winding / copper.cable_factor(temperature))
    assert abs(ratio - 1.0) < 0.0055
    assert (ratio - 1.0) * (temperature - 293.15) >= 0.0


def test_the_two_forms_are_two() -> None:
    """Tests that at 60 C they are apart by 0.2 %: a table of one does not follow the other."""
    warm = 333.15
    ratio = 1.0 / copper.winding_resistance(1.0, warm) / copper.cable_factor(warm)
    assert float(ratio) == pytest.approx(1.0025, abs=3e-4)
    assert abs(1.0 / float(copper.winding_resistance(1.0, warm)) - 0.862) > 0.001


@given(st.floats(0.1, 100.0), st.floats(0.1, 10.0))
def test_wire(length: float, times: float) -> None:
    """Tests that resistance is in proportion to length over area."""
    ohms = float(copper.wire_resistance(length, 1e-6))
    assert float(copper.wire_resistance(times * length, 1e-6)) == pytest.approx(times * ohms)
    assert float(copper.wire_resistance(length, times * 1e-6)) == pytest.approx(ohms / times)


def test_wire_of_the_table_is_wire_of_its_area() -> None:
    """Tests that the most a class 5 wire may have is within 15 % of plain copper of its area."""
    for area, ohms in copper.FLEXIBLE_WIRE.items():
        plain = float(copper.wire_resistance(1.0, area * 1e-6))
        assert 1.0 < ohms / plain < 1.15


@pytest.mark.parametrize("temperature", [100.0, 600.0])
def test_no_copper_of_such_heat(temperature: float) -> None:
    """Tests that temperatures far outside the straight line are errors."""
    with pytest.raises(OutsideRangeError, match="temperature"):
        copper.winding_resistance(np.array([10.0, 20.0]), temperature)
