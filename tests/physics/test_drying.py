"""Tests of drying in a drum of warm air."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.physics import drying, moist_air
from tubside.physics.drying import Stream

streams = st.builds(
    Stream, st.floats(0.005, 0.12), st.floats(283.0, 308.0), st.floats(0.002, 0.006)
)
powers = st.floats(0.0, 5500.0)
effects = st.floats(0.05, 0.98)


@settings(deadline=None)
@given(streams, powers, effects)
def test_bounds_hold(stream: Stream, power: float, effect: float) -> None:
    """Tests that no drying beats what heat and air allow, and that both balances close."""
    found = drying.dried(stream, power, effect, 450.0, 400.0)
    # air that is not yet full of water dries without any heat: that part is no heater's
    own = stream.capacity * (
        np.asarray(stream.temperature) - moist_air.wet_surface(stream.temperature, stream.ratio)
    )
    heat = power + float(own)
    assert float(found.rate) <= float(drying.most_by_energy(heat, found.surface)) + 1e-9
    assert (
        float(found.rate)
        <= float(drying.most_by_air(stream, np.minimum(found.outlet, 365.0))) + 1e-9
    )
    lost = float(stream.capacity * (found.hot - found.outlet))
    taken = float(found.rate * moist_air.evaporation_heat(found.surface))
    assert taken == pytest.approx(lost, rel=1e-3, abs=2.0)
    assert float(found.power) <= power + 1e-9


@settings(deadline=None)
@given(streams, powers, effects, st.floats(0.0, 1000.0))
def test_more_heat_never_dries_slower(
    stream: Stream, power: float, effect: float, more: float
) -> None:
    """Tests that more watts never dry slower."""
    low = drying.dried(stream, power, effect, 420.0, 340.0)
    high = drying.dried(stream, power + more, effect, 420.0, 340.0)
    assert float(high.rate) >= float(low.rate) - 1e-9


@settings(deadline=None)
@given(streams, effects)
def test_thermostats_hold(stream: Stream, effect: float) -> None:
    """Tests that neither thermostat's temperature is passed, whatever the heater."""
    found = drying.dried(stream, 5500.0, effect, 400.0, 335.0)
    assert float(found.hot) <= 400.0 + 1e-6
    assert float(found.outlet) <= 335.0 + 0.05


def test_dry_laundry_gives_nothing() -> None:
    """Tests that at the regain nothing more leaves, and that the air leaves as hot as it came."""
    assert float(drying.wet_share(drying.REGAIN)) == 0.0
    stream = Stream(0.06, 293.15, 0.007)
    found = drying.dried(stream, 1000.0, 0.0, 450.0, 400.0)
    assert float(found.rate) == 0.0
    assert float(found.outlet) == pytest.approx(float(found.hot))


def test_short_air_dries_slower() -> None:
    """Tests that a tenth of the air dries slower with the same watts, held by the limit."""
    rates = []
    for flow in (0.06, 0.006):
        stream = Stream(flow, 293.15, 0.007)
        effect = drying.effectiveness(100.0, stream.capacity)
        rates.append(float(drying.dried(stream, 2200.0, effect, 393.15, 335.15).rate))
    assert rates[1] < 0.5 * rates[0]
