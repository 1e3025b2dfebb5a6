"""Tests of heating elements."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics.electrics.heater import heater_ohms, heater_power


@given(st.floats(100.0, 5000.0), st.floats(100.0, 250.0), st.floats(0.8, 1.2))
def test_power_goes_with_the_square_of_the_voltage(
    power: float, voltage: float, share: float
) -> None:
    """Tests that an element gives its rating at its voltage, and the square of any other."""
    ohms = heater_ohms(power, voltage)
    assert float(heater_power(ohms, share * voltage)) == pytest.approx(share**2 * power)


def test_no_element_without_power() -> None:
    """Tests that a rating of no watts is an error."""
    with pytest.raises(OutsideRangeError, match="power"):
        heater_ohms(0.0, 230.0)
