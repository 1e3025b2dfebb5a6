"""Tests of mixed water."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics import mixing, water

kelvins = st.floats(273.15, 373.15)
volumes = st.floats(1e-6, 0.1)


@settings(deadline=None)
@given(volumes, kelvins, volumes, kelvins)
def test_heat_is_kept(one: float, warm: float, two: float, cool: float) -> None:
    """Tests that the mixture holds the heat of its parts, to 1e-9, and lies between them."""
    mixed = mixing.mixed_temperature(one, warm, two, cool)
    first, second = one * water.density(warm), two * water.density(cool)
    heat = first * water.enthalpy(warm) + second * water.enthalpy(cool)
    assert float((first + second) * water.enthalpy(mixed)) == pytest.approx(
        float(heat), rel=1e-9, abs=1e-6
    )
    assert min(warm, cool) - 1e-6 <= float(mixed) <= max(warm, cool) + 1e-6


@settings(deadline=None)
@given(st.floats(0.0, 1.0), st.floats(310.0, 363.0), st.floats(275.0, 300.0))
def test_share_comes_back(share: float, hot: float, cold: float) -> None:
    """Tests that the share of hot for the temperature of a mixture is that of the mixture."""
    first, second = share / water.density(hot), (1 - share) / water.density(cold)
    mixed = mixing.mixed_temperature(first, hot, second, cold)
    assert float(mixing.hot_share(mixed, hot, cold)) == pytest.approx(share, abs=1e-8)


@pytest.mark.parametrize(("wanted", "share"), [(280.0, 0.0), (350.0, 1.0)])
def test_out_of_reach(wanted: float, share: float) -> None:
    """Tests that a temperature beyond both taps takes all of the nearer one."""
    assert float(mixing.hot_share(wanted, 333.15, 288.15)) == share


@settings(deadline=None)
@given(volumes, kelvins, kelvins)
def test_warming_there_and_back(volume: float, one: float, two: float) -> None:
    """Tests that cooling the same mass gives back the heat of warming it."""
    there = float(mixing.heat_to_warm(volume, one, two))
    same = volume * float(water.density(one) / water.density(two))
    assert float(mixing.heat_to_warm(same, two, one)) == pytest.approx(-there, rel=1e-9, abs=1e-6)


def test_no_water_has_no_temperature() -> None:
    """Tests that nothing mixed with nothing is refused, and negative water too."""
    with pytest.raises(OutsideRangeError, match="mass"):
        mixing.mixed_temperature(0.0, 333.15, 0.0, 288.15)
    with pytest.raises(OutsideRangeError, match="hot volume"):
        mixing.mixed_temperature(-1e-3, 333.15, 1e-3, 288.15)
