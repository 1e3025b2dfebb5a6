"""The brightness of a lamp follows the light that the simulator counted."""

from __future__ import annotations

import numpy as np

from small_clips import STATES, OnDisk
from tubside.recordings.clip.brightness import lamp_series
from tubside.recordings.clip.measuring import walked
from tubside.recordings.clip.placing import placed


def test_brightness_follows_the_light(small: OnDisk) -> None:
    """Tests that lit lamps go with their true light, and that the unlit one stays dark."""
    lamps = placed(small.truth.taps)
    series = lamp_series(walked(small.path, lamps), lamps)
    assert np.isfinite(series.brightness).mean() > 0.99
    for k, state in enumerate(STATES):
        if state == "off":
            assert series.brightness[k].max() < 0.2
            continue
        alike = np.corrcoef(series.brightness[k], small.truth.light[k])[0, 1]
        assert alike > 0.85
        assert series.brightness[k].max() > 1.0


def test_lamps_are_read_later_further_down(small: OnDisk) -> None:
    """Tests that row times lie within a frame and follow a lamp's row."""
    lamps = placed({"high": (60.0, 30.0), "low": (60.0, 120.0)})
    series = lamp_series(walked(small.path, lamps), lamps)
    assert series.row_times_s is not None
    assert 0.0 <= series.row_times_s.min() < series.row_times_s.max() < 1 / 30
    assert series.row_s[0] < series.row_s[1]
