"""Room light on the mains pulses; a camera's gain does not."""

from __future__ import annotations

import numpy as np
import pytest

from tubside.recordings.clip.mains import without_mains


@pytest.mark.parametrize(("mains_hz", "fps"), [(50.0, 30.0), (50.07, 24.0), (60.0, 25.0)])
def test_a_pulse_is_taken_out_and_a_step_kept(mains_hz: float, fps: float) -> None:
    """Tests that a pulse of a tenth leaves a fiftieth at most, and that a step of gain stays."""
    t = np.arange(round(8 * fps)) / fps
    gain = np.where(t < 4, 1.0, 0.8)
    pulsing = gain * (1 + 0.1 * np.cos(4 * np.pi * mains_hz * t + 1.0))
    found = without_mains(t, pulsing)
    settled = (t > 1) & (t < 7) & (np.abs(t - 4) > 1)
    assert np.abs(found / gain - 1)[settled].max() < 0.02
    assert found[t > 5].mean() / found[t < 3].mean() == pytest.approx(0.8, rel=0.01)


def test_a_pulse_in_step_with_the_frames_is_left() -> None:
    """Tests 100 pulses at 25 frames a second, which stand still, and plain noise."""
    t = np.arange(200) / 25.0
    gain = 1 + 0.002 * np.random.default_rng(3).standard_normal(200)
    assert np.array_equal(without_mains(t, gain), gain)
    t = np.arange(240) / 30.0
    quiet = 1 + 0.002 * np.random.default_rng(4).standard_normal(240)
    assert np.abs(without_mains(t, quiet) - quiet).max() < 0.003
