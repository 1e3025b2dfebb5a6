"""Tests of coils against complex impedance."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics.electrics import coil

OHMS = st.floats(1.0, 5000.0)
HENRIES = st.floats(1e-3, 20.0)


@given(OHMS, HENRIES)
def test_against_complex_impedance(ohms: float, henries: float) -> None:
    """Tests impedance, current, power factor and power against R + jwL."""
    z = ohms + 2j * np.pi * 50.0 * henries
    current = 230.0 / z
    assert float(coil.impedance(ohms, henries, 50.0)) == pytest.approx(abs(z))
    assert float(coil.coil_current(230.0, ohms, henries, 50.0)) == pytest.approx(abs(current))
    assert float(coil.power_factor(ohms, henries, 50.0)) == pytest.approx(np.cos(np.angle(z)))
    power = (230.0 * current.conjugate()).real
    assert float(coil.coil_power(230.0, ohms, henries, 50.0)) == pytest.approx(power)


@given(OHMS, HENRIES)
def test_inductance_and_back(ohms: float, henries: float) -> None:
    """Tests that the inductance comes back from resistance and impedance."""
    z = coil.impedance(ohms, henries, 50.0)
    assert float(coil.inductance_of(ohms, z, 50.0)) == pytest.approx(henries, rel=1e-4)


@given(OHMS, HENRIES, st.floats(10.0, 5000.0))
def test_three_voltages(ohms: float, henries: float, resistor: float) -> None:
    """Tests that readings made with complex numbers give the coil back."""
    z = ohms + 2j * np.pi * 50.0 * henries
    current = 24.0 / abs(z + resistor)
    read = coil.coil_by_three_voltages(24.0, current * resistor, current * abs(z), resistor, 50.0)
    size = abs(z)
    assert float(read[0]) == pytest.approx(ohms, abs=1e-3 * size)
    assert float(read[1]) * 100.0 * np.pi == pytest.approx(z.imag, abs=1e-3 * size)


def test_readings_that_make_no_triangle() -> None:
    """Tests that voltages which no circuit has are an error."""
    with pytest.raises(OutsideRangeError, match="power factor"):
        coil.coil_by_three_voltages(24.0, 5.0, 5.0, 100.0, 50.0)
    with pytest.raises(OutsideRangeError, match="impedance less resistance"):
        coil.inductance_of(100.0, 90.0, 50.0)
