"""The brightness of a lamp follows the light that the simulator counted."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np

from encoded_clips import write_clip
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


def test_a_red_lamp_as_light_as_its_panel_is_seen(tmp_path: Path) -> None:
    """Tests that a lamp that differs from the panel in colour alone is bright when lit."""
    rough = np.random.default_rng(5).integers(80, 150, (18, 32))
    panel = np.repeat(np.kron(rough, np.ones((8, 8)))[:, :, None], 3, axis=2).astype(np.uint8)
    cv2.circle(panel, (128, 72), 18, (116, 116, 116), -1)
    lit = panel.copy()
    cv2.circle(lit, (128, 72), 5, (230, 68, 68), -1)  # luma 116 by BT.601 too
    pictures = [lit if n // 10 % 2 else panel for n in range(60)]
    path = write_clip(tmp_path / "red.mp4", pictures, np.arange(60) / 30)
    lamps = placed({"red": (128.0, 72.0), "none": (60.0, 72.0)})
    series = lamp_series(walked(path, lamps), lamps)
    on = np.arange(60) // 10 % 2 == 1
    assert np.median(series.brightness[0, on]) > np.median(series.brightness[0, ~on]) + 0.5


def test_lamps_are_read_later_further_down(small: OnDisk) -> None:
    """Tests that row times lie within a frame and follow a lamp's row."""
    lamps = placed({"high": (60.0, 30.0), "low": (60.0, 120.0)})
    series = lamp_series(walked(small.path, lamps), lamps)
    assert series.row_times_s is not None
    assert 0.0 <= series.row_times_s.min() < series.row_times_s.max() < 1 / 30
    assert series.row_s[0] < series.row_s[1]
