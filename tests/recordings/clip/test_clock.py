"""Frame times that a file has rounded are put back on their clock; true ones are left."""

from __future__ import annotations

import numpy as np
import pytest

from tubside.recordings.clip.clock import on_the_clock


@pytest.mark.parametrize("rate", [23.976, 29.97, 60.0])
def test_rounded_times_lose_their_rounding(rate: float) -> None:
    """Tests that times rounded to a millisecond come back within a twentieth of it."""
    rng = np.random.default_rng(1)
    kept = np.flatnonzero(rng.random(200) > 0.1)
    true = (kept - kept[0]) / rate
    found = on_the_clock(np.round(true, 3), 1e-3)
    assert found - found[0] == pytest.approx(true, abs=2e-4)
    assert np.abs(found - true).mean() < 1e-4


def test_a_variable_rate_stays() -> None:
    """Tests that times off any even clock are not touched."""
    times = np.cumsum(np.random.default_rng(2).uniform(0.028, 0.045, 100))
    assert on_the_clock(times, 1e-5) is times
