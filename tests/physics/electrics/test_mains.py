"""Tests of mains, leads and loads."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError, UnknownNameError
from tubside.physics.electrics import mains
from tubside.physics.electrics.copper import FLEXIBLE_WIRE


@given(st.floats(200.0, 250.0), st.floats(0.01, 5.0), st.floats(10.0, 500.0))
def test_source_resistance_and_back(at_rest: float, source: float, load: float) -> None:
    """Tests that the supply's resistance comes back from voltage and current under load."""
    loaded = float(mains.loaded_voltage(at_rest, source, load))
    current = loaded / load
    found = mains.source_resistance(at_rest, loaded, current)
    assert float(found) == pytest.approx(source, rel=1e-6)
    lost = float(mains.voltage_drop(current, source))
    assert loaded + lost == pytest.approx(at_rest)


@given(st.sampled_from(sorted(FLEXIBLE_WIRE)), st.floats(1.0, 50.0), st.floats(283.0, 343.0))
def test_lead_grows_with_length_and_heat(area: float, length: float, temperature: float) -> None:
    """Tests proportion to length, and that a warm lead has more."""
    ohms = float(mains.lead_resistance(length, area, temperature))
    assert float(mains.lead_resistance(2.0 * length, area, temperature)) == pytest.approx(2 * ohms)
    assert mains.lead_resistance(length, area, temperature + 10.0) > ohms


def test_thicker_leads_lose_less() -> None:
    """Tests the order of the table of leads."""
    ohms = [float(mains.lead_resistance(25.0, area)) for area in sorted(FLEXIBLE_WIRE)]
    assert ohms == sorted(ohms, reverse=True)


def test_a_lead_of_no_table() -> None:
    """Tests that an area without a row is told with those there are."""
    with pytest.raises(UnknownNameError, match=r"use one of 0.75, 1, 1.5, 2.5"):
        mains.lead_resistance(10.0, 1.2)


def test_voltage_that_rises_under_load() -> None:
    """Tests that such readings are refused: something else changed."""
    with pytest.raises(OutsideRangeError, match="lost under load"):
        mains.source_resistance(229.0, 230.0, 8.0)


@pytest.mark.parametrize("country", sorted(mains.MAINS))
def test_bands_hold_their_nominal_voltage(country: str) -> None:
    """Tests that every band lies around its voltage and names its source."""
    band = mains.MAINS[country]
    assert band.low < band.voltage < band.high
    assert band.source
