"""Tests of the air bell."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics import level
from tubside.physics.level import Bell
from tubside.physics.standard import ATMOSPHERE

bells = st.builds(
    Bell, st.floats(3e-4, 5e-3), st.floats(0.02, 0.15), st.floats(2e-6, 5e-5), st.floats(7e-6, 3e-5)
)
depths = st.floats(0.0, 0.6)
airs = st.floats(0.0, 1.1)


@settings(deadline=None)
@given(bells, depths, airs)
def test_boyle_holds(bell: Bell, depth: float, air: float) -> None:
    """Tests that pressure times air left is what was shut in, wherever the water stands.

    Where the air would need more room than the bell has, it bubbles out at the mouth;
    where it has less than the hose holds, water stands level inside and out.
    """
    rise = float(level.bell_rise(depth, bell, air=air))
    shown = float(level.bell_pressure(depth, bell, air=air))
    height = float(np.asarray(bell.height))
    in_bell = min(rise, height) * float(np.asarray(bell.area))
    in_hose = max(rise - height, 0.0) * float(np.asarray(bell.hose_area))
    room = float(bell.air) - in_bell - in_hose
    kept = air * ATMOSPHERE * float(bell.air)
    now = (ATMOSPHERE + shown) * room
    if depth == 0.0:
        assert shown == 0.0
    elif rise == 0.0:
        assert now <= kept + 1e-6
    elif rise == depth:
        assert now >= kept - 1e-6
    else:
        assert now == pytest.approx(kept, rel=1e-9, abs=1e-9)


@settings(deadline=None)
@given(bells, depths, depths, airs)
def test_deeper_shows_more(bell: Bell, one: float, two: float, air: float) -> None:
    """Tests that more water never shows less pressure, nor more than its own."""
    low, high = sorted((one, two))
    less = level.bell_pressure(low, bell, air=air)
    more = level.bell_pressure(high, bell, air=air)
    assert 0.0 <= less <= more + 1e-9
    assert more <= level.water_pressure(high) + 1e-9


@settings(deadline=None)
@given(bells, depths, airs, airs)
def test_less_air_shows_less(bell: Bell, depth: float, one: float, two: float) -> None:
    """Tests that lost air never shows more pressure."""
    low, high = sorted((one, two))
    leaky = level.bell_pressure(depth, bell, air=low)
    assert leaky <= level.bell_pressure(depth, bell, air=high) + 1e-9


@settings(deadline=None)
@given(depths)
def test_depth_comes_back(depth: float) -> None:
    """Tests that the depth read from the pressure of a whole bell is the depth."""
    shown = level.bell_pressure(depth)
    assert float(level.depth_of_pressure(shown)) == pytest.approx(depth, abs=1e-9)


@settings(deadline=None)
@given(depths, st.floats(0.0, 0.1), st.floats(0.0, 600.0), st.floats(0.0, 600.0))
def test_leak_only_drops(depth: float, leak: float, one: float, two: float) -> None:
    """Tests that a leak loses more the longer it is left, and never all of the depth twice."""
    low, high = sorted((one, two))
    early, late = (level.pressure_drop(depth, leak, seconds) for seconds in (low, high))
    assert -1e-9 <= early <= late + 1e-9
    assert late <= level.bell_pressure(depth) + 1e-9


def test_open_hose_shows_nothing() -> None:
    """Tests that with all air gone a standing level shows no pressure."""
    assert float(level.bell_pressure(0.3, air=0.0)) == pytest.approx(0.0, abs=1e-6)


def test_warm_air_shows_more() -> None:
    """Tests that air warmed by hot water reads a little deeper than it is, at most the depth."""
    cold, warm = level.bell_pressure(0.2), level.bell_pressure(0.2, air=315.0 / 293.0)
    assert cold < warm <= level.water_pressure(0.2)


def test_what_cannot_be_is_refused() -> None:
    """Tests that negative depths and a pressure beyond the bell are refused."""
    with pytest.raises(OutsideRangeError, match="depth"):
        level.bell_pressure(-0.1)
    with pytest.raises(OutsideRangeError, match="share of the bell"):
        level.depth_of_pressure(10e3, Bell(height=0.005, hose_volume=2e-4))


@pytest.mark.parametrize("bell", [Bell(area=0.0), Bell(hose_volume=0.0)])
def test_no_such_bell(bell: Bell) -> None:
    """Tests that a bell without area and a hose without volume are refused."""
    with pytest.raises(OutsideRangeError):
        level.bell_pressure(0.2, bell)
