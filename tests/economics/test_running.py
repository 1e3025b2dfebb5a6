"""What a year of washing costs."""

from __future__ import annotations

import pytest

from tubside.economics.running import Appetite, Use, running_cost
from tubside.errors import OutsideRangeError


def test_energy_and_water_add_up() -> None:
    """Tests 45 kWh per 100 cycles and 50 litres each, the class A median of the EU register."""
    yearly = running_cost(Use(100.0, 0.30, 4.0), Appetite(0.45, 0.050))
    assert yearly == pytest.approx(45 * 0.30 + 5 * 4.0)


def test_litres_taken_for_cubic_metres_are_refused() -> None:
    """Tests that 50 m3 a cycle is an error."""
    with pytest.raises(OutsideRangeError, match="water of a cycle"):
        Appetite(0.45, 50.0)
