"""Tests of capacitors."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics.electrics import capacitor

FARADS = st.floats(1e-8, 1e-3)


@given(st.floats(60.0, 400.0), st.floats(1.0, 50.0), FARADS, st.floats(1e3, 1e7))
def test_after_the_time_it_is_safe(charged: float, safe: float, farads: float, ohms: float) -> None:
    """Tests that the time to a voltage leaves that voltage, and twice the time its square."""
    time = float(capacitor.discharge_time(charged, safe, farads, ohms))
    if time < 1e9:
        assert float(capacitor.voltage_left(time, charged, farads, ohms)) == pytest.approx(safe)
        twice = float(capacitor.voltage_left(2.0 * time, charged, farads, ohms))
        assert twice == pytest.approx(safe**2 / charged)


def test_safe_already() -> None:
    """Tests that a capacitor below the safe voltage needs no time."""
    assert float(capacitor.discharge_time(30.0, 34.0, 1e-6, 1e6)) == 0.0


@given(FARADS, st.floats(50.0, 250.0))
def test_current_and_back(farads: float, voltage: float) -> None:
    """Tests that the capacitance comes back from its current."""
    current = capacitor.capacitor_current(farads, voltage, 50.0)
    assert float(capacitor.capacitance_of(current, voltage, 50.0)) == pytest.approx(farads)


def test_peak_is_the_peak_of_a_sine() -> None:
    """Tests the peak against a sine of that mean square."""
    sine = float(capacitor.peak(230.0)) * np.sin(np.linspace(0.0, 2.0 * np.pi, 100001))
    assert np.sqrt(np.mean(np.square(sine))) == pytest.approx(230.0, rel=1e-4)


def test_no_resistor_no_time() -> None:
    """Tests that a capacitor with nothing across it is outside the formula."""
    with pytest.raises(OutsideRangeError, match="resistance"):
        capacitor.discharge_time(325.0, 34.0, 1e-6, np.inf)
