"""Tests of moist air."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics import moist_air

kelvins = st.floats(280.0, 420.0)
dry = st.floats(0.0, 0.006)


@settings(deadline=None)
@given(kelvins, dry)
def test_wet_surface_balances(temperature: float, ratio: float) -> None:
    """Tests that at the surface the heat lost by the air is that taken by the water (1e-5)."""
    surface = moist_air.wet_surface(temperature, ratio)
    if float(surface) > 273.2:
        lost = moist_air.heat_capacity(ratio) * (temperature - surface)
        taken = moist_air.evaporation_heat(surface) * (moist_air.saturated_ratio(surface) - ratio)
        assert float(taken) == pytest.approx(float(lost), rel=1e-5, abs=0.1)


@settings(deadline=None)
@given(kelvins, dry, st.floats(0.05, 1.0))
def test_wet_surface_of_air_behind(temperature: float, ratio: float, share: float) -> None:
    """Tests that air which went a part of the way leads back to the same surface."""
    surface = float(moist_air.wet_surface(temperature, ratio))
    if surface > 273.2:
        behind = surface + share * (temperature - surface)
        assert float(moist_air.wet_surface(behind, ratio, share)) == pytest.approx(
            surface, abs=2e-3
        )


@settings(deadline=None)
@given(st.floats(283.0, 343.0), st.floats(0.2, 1.0))
def test_wet_bulb_and_ratio_agree(surface: float, share: float) -> None:
    """Tests that the ratio found by a wet bulb has that wet bulb."""
    temperature = surface + 20.0 * share
    ratio = float(moist_air.ratio_by_wet_bulb(temperature, surface))
    if ratio > 0.0:
        assert float(moist_air.wet_surface(temperature, ratio)) == pytest.approx(surface, abs=2e-3)


@settings(deadline=None)
@given(st.floats(273.2, 360.0), st.floats(0.1, 5.0))
def test_warmer_holds_more(temperature: float, more: float) -> None:
    """Tests that warmer air holds more water, and weighs less."""
    low, high = moist_air.saturated_ratio(np.array([temperature, temperature + more]))
    assert low < high
    light, heavy = moist_air.density(np.array([temperature + more, temperature]), 0.005)
    assert light < heavy


def test_damp_air_is_lighter() -> None:
    """Tests that water vapour makes air lighter at the same temperature."""
    assert float(moist_air.density(300.0, 0.02)) < float(moist_air.density(300.0, 0.0))


def test_what_cannot_be_is_refused() -> None:
    """Tests that ice, negative water and vapour above the pressure are refused."""
    with pytest.raises(OutsideRangeError, match="temperature"):
        moist_air.saturation_pressure(260.0)
    with pytest.raises(OutsideRangeError, match="humidity ratio"):
        moist_air.enthalpy(300.0, -0.001)
    with pytest.raises(OutsideRangeError, match="vapour"):
        moist_air.humidity_ratio(2e5)
