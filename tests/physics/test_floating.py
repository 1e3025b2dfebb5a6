"""Tests of the basket that floats."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics.floating import WATER, basket_rise, draught, engagement_level

MASSES = st.floats(0.5, 20.0)
AREAS = st.floats(0.02, 0.3)


@given(MASSES, AREAS)
def test_water_pushed_aside_weighs_as_much(mass: float, area: float) -> None:
    """Tests Archimedes: density times area times draught is the mass."""
    assert WATER * area * float(draught(mass, area)) == pytest.approx(mass)


@given(MASSES, AREAS, st.floats(0.005, 0.05))
def test_engagement_is_where_the_basket_has_risen(mass: float, area: float, lift: float) -> None:
    """Tests that at the level of engagement the basket has risen by the lift, no sooner."""
    level = float(engagement_level(mass, area, lift))
    assert float(basket_rise(level, mass, area, 0.1)) == pytest.approx(lift)
    assert float(basket_rise(level - 0.004, mass, area, 0.1)) < lift


@given(st.floats(-0.1, 0.5), st.floats(0.0, 0.2), MASSES, AREAS)
def test_rise_grows_with_water_and_stays_between_its_stops(
    level: float, more: float, mass: float, area: float
) -> None:
    """Tests that more water never lowers the basket, and that it stands or reaches its stop."""
    low, high = (float(basket_rise(x, mass, area, 0.02)) for x in (level, level + more))
    assert 0.0 <= low <= high <= 0.02


def test_heavier_floats_later() -> None:
    """Tests that a heavier basket comes free at a higher level, for many at once."""
    levels = engagement_level(np.array([3.0, 5.0, 8.0]), 0.12, 0.012)
    assert (np.diff(levels) > 0.0).all()


def test_no_area_floats_nothing() -> None:
    """Tests that a float without area is an error."""
    with pytest.raises(OutsideRangeError, match="area"):
        draught(5.0, 0.0)
