"""Steps of the camera's gain, undone; and series that cannot be."""

from __future__ import annotations

import numpy as np
import pytest

from tubside.errors import RecordingError
from tubside.recordings.lamp_levels import gain_steps, levelled
from tubside.recordings.lamp_series import LampSeries


def test_a_step_of_gain_is_undone() -> None:
    """Tests that a step of 10 % in two lamps is found to 1 %, at its frame."""
    rng = np.random.default_rng(2)
    step = np.where(np.arange(240) < 100, 1.0, 0.9)
    x = np.array([[1.0], [2.0]]) * step + rng.normal(0.0, 0.02, (2, 240))
    gain = gain_steps(x, np.ones_like(x, dtype=np.bool_))
    assert gain[-1] / gain[0] == pytest.approx(0.9, abs=0.01)
    assert abs(int(np.flatnonzero(np.diff(gain))[0]) - 99) <= 1


def test_one_lamp_that_goes_dark_is_no_step_of_gain() -> None:
    """Tests that a lamp switched off half-way leaves the gain alone."""
    x = np.ones((2, 240)) + np.random.default_rng(2).normal(0.0, 0.02, (2, 240))
    x[1, 120:] -= 1.0
    assert (gain_steps(x, np.ones_like(x, dtype=np.bool_)) == 1.0).all()


def test_a_hidden_lamp_has_no_level() -> None:
    """Tests that a lamp never seen is neither lit nor noisy."""
    y = np.ones((2, 60))
    y[1] = np.nan
    level = levelled(LampSeries(("a", "b"), np.arange(60) / 30, y, np.zeros(2)))
    assert level.lit.tolist() == [True, False]
    assert not level.seen[1].any()


def test_an_uneven_clock_is_told_from_dropped_frames() -> None:
    """Tests that drops leave the clock even, and that a varied rate or moved rows do not."""
    rng = np.random.default_rng(0)
    even = np.delete(np.arange(240) / 30, [7, 8, 100])
    varied = np.cumsum(rng.uniform(0.02, 0.05, 240))

    def series(times: np.ndarray, rows: np.ndarray | None = None) -> LampSeries:
        return LampSeries(("a",), times, np.ones((1, len(times))), np.zeros(1), rows)

    moved = 2e-3 * np.sin(np.arange(237) / 9)[None]
    assert not series(even).uneven
    assert series(varied).uneven
    assert series(even, moved).uneven
    with pytest.raises(RecordingError, match="row times"):
        series(even, moved[:, 1:])
