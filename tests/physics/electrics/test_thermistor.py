"""Tests of temperature sensors."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics.electrics import thermistor

TEMPERATURES = st.floats(233.15, 403.15)
BEAD = np.array([1.129148e-3, 2.34125e-4, 8.76741e-8])


@given(TEMPERATURES, st.floats(1e3, 1e5), st.floats(2500.0, 4500.0))
def test_b_and_back(temperature: float, at_25: float, b: float) -> None:
    """Tests that temperature and B come back from resistances by B."""
    ohms = thermistor.b_resistance(temperature, at_25, b)
    assert float(thermistor.b_temperature(ohms, at_25, b)) == pytest.approx(temperature)
    if abs(temperature - 298.15) > 1.0:
        found = thermistor.b_between(ohms, at_25, temperature, 298.15)
        assert float(found) == pytest.approx(b, rel=1e-6)


@given(TEMPERATURES)
def test_steinhart_and_back(temperature: float) -> None:
    """Tests that the root of the cubic is the resistance that gives the temperature."""
    ohms = thermistor.steinhart_resistance(temperature, BEAD)
    assert float(thermistor.steinhart_temperature(ohms, BEAD)) == pytest.approx(
        temperature, rel=1e-10
    )


@given(TEMPERATURES, st.floats(0.1, 10.0))
def test_warmer_reads_less(temperature: float, warmer: float) -> None:
    """Tests that a thermistor's resistance falls with temperature, platinum's rises."""
    both = np.array([temperature, temperature + warmer])
    assert np.diff(thermistor.steinhart_resistance(both, BEAD)).item() < 0.0
    assert np.diff(thermistor.b_resistance(both, 1e4, 3900.0)).item() < 0.0
    assert np.diff(thermistor.platinum_resistance(both)).item() > 0.0


def test_fit_finds_the_coefficients() -> None:
    """Tests that a fit through many exact pairs gives the coefficients they came from."""
    temperatures = np.linspace(263.15, 363.15, 9)
    ohms = thermistor.steinhart_resistance(temperatures, BEAD)
    assert thermistor.fit_steinhart(temperatures, ohms) == pytest.approx(BEAD, rel=1e-6)


def test_b_as_a_special_case() -> None:
    """Tests that Steinhart-Hart with C near 0 is the law of B, where both are inverted."""
    b, at_25 = 3900.0, 1e4
    as_b = np.array([1.0 / 298.15 - np.log(at_25) / b, 1.0 / b, 1e-14])
    ohms = thermistor.steinhart_resistance(333.15, as_b)
    assert float(ohms) == pytest.approx(float(thermistor.b_resistance(333.15, at_25, b)), rel=1e-4)


def test_two_pairs_fit_nothing() -> None:
    """Tests that fewer than three different resistances are an error."""
    with pytest.raises(OutsideRangeError, match="number of different resistances"):
        thermistor.fit_steinhart(np.array([273.15, 298.15, 298.15]), np.array([3e4, 1e4, 1e4]))
    with pytest.raises(OutsideRangeError, match="distance of the temperatures"):
        thermistor.b_between(1e4, 1e4, 298.15, 298.15)
