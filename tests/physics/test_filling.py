"""Tests of buckets, tubs and the time to fill them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics import filling


@settings(deadline=None)
@given(st.floats(1e-6, 0.1), st.floats(1e-6, 1e-3))
def test_time_and_flow_agree(volume: float, flow: float) -> None:
    """Tests that a bucket filled for the time of a volume shows the flow."""
    seconds = filling.fill_time(volume, flow)
    if 1e-3 <= float(seconds) <= 86400.0:
        assert float(filling.bucket_flow(volume, seconds)) == pytest.approx(flow, rel=1e-9)


@pytest.mark.parametrize(
    ("flow", "leak", "expected"), [(0.0, 0.0, np.inf), (1e-4, 2e-4, np.inf), (2e-4, 1e-4, 400.0)]
)
def test_leak_works_against(flow: float, leak: float, expected: float) -> None:
    """Tests that what leaks or siphons away lengthens the fill, to never."""
    assert float(filling.fill_time(0.040, flow, leak)) == pytest.approx(expected)


def test_nothing_to_fill_takes_no_time() -> None:
    """Tests that no volume takes no time, also without flow."""
    found = filling.fill_time(np.array([0.0, 0.01]), np.array([0.0, 0.0]))
    assert found.tolist() == [0.0, np.inf]


@settings(deadline=None)
@given(st.floats(1e-4, 0.02), st.floats(1.0, 600.0), st.floats(0, 1e-3), st.floats(0, 5))
def test_bucket_error_is_felt(volume: float, seconds: float, mark: float, watch: float) -> None:
    """Tests the uncertainty against the spread of the extremes of both readings."""
    error = float(filling.bucket_error(volume, seconds, mark, watch))
    by_mark = mark / seconds
    by_watch = volume / seconds**2 * watch
    assert max(by_mark, by_watch) <= error * (1 + 1e-9)
    assert error <= (by_mark + by_watch) * (1 + 1e-9)


@settings(deadline=None)
@given(st.floats(0.0, 1.0), st.floats(0.15, 0.4), st.floats(0.2, 0.6))
def test_lying_tub_comes_back(share: float, radius: float, length: float) -> None:
    """Tests that depth to volume and back leaves the depth within a millionth of the width."""
    depth = share * 2 * radius
    volume = filling.lying_volume(depth, radius, length)
    back = float(filling.lying_depth(volume, radius, length))
    assert back == pytest.approx(depth, abs=2e-6 * radius)


@settings(deadline=None)
@given(st.floats(0.0, 0.8), st.floats(0.15, 0.4), st.floats(0.0, 0.005))
def test_upright_tub_comes_back(depth: float, radius: float, sump: float) -> None:
    """Tests that depth to volume and back leaves the depth."""
    volume = filling.upright_volume(depth, radius, sump)
    assert float(filling.upright_depth(volume, radius, sump)) == pytest.approx(depth, abs=1e-12)


def test_sump_fills_first() -> None:
    """Tests that water which only fills the sump stands at no depth."""
    assert float(filling.upright_depth(0.001, 0.27, 0.002)) == 0.0


def test_what_cannot_be_is_refused() -> None:
    """Tests that a bucket filled in no time and an overfull tub are refused."""
    with pytest.raises(OutsideRangeError, match="time"):
        filling.bucket_flow(0.01, 0.0)
    with pytest.raises(OutsideRangeError, match="share of the tub"):
        filling.lying_depth(0.2, 0.27, 0.4)
