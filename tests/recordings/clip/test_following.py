"""The panel is followed under a hand, and what is no panel is refused."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from encoded_clips import write_clip
from filmed_clips import swapped
from small_clips import OnDisk, small_clip
from tubside.errors import RecordingError
from tubside.panel.straightening import mapped
from tubside.recordings.clip.following import brought_back, follower
from tubside.recordings.clip.measuring import walked
from tubside.recordings.clip.placing import placed

LAMPS = np.array([[50.0, 60.0], [200.0, 60.0]])


def first() -> NDArray[np.uint8]:
    """Return the small clip's first picture in grey."""
    return np.asarray(cv2.cvtColor(small_clip().pictures[0], cv2.COLOR_RGB2GRAY), np.uint8)


@pytest.mark.parametrize(("lean", "zoom", "gain"), [(4.0, 1.06, 1.0), (-10.0, 0.92, 0.6)])
def test_a_turned_and_zoomed_panel_is_found(lean: float, zoom: float, gain: float) -> None:
    """Tests that steps to a far place end within a third of a pixel, under another gain."""
    grey = first()
    found = follower(grey, LAMPS, 6.0)
    for share in np.linspace(0.0, 1.0, 9):
        turned = cv2.getRotationMatrix2D((128, 72), lean * share, 1 + (zoom - 1) * share)
        true = np.vstack([turned, [0.0, 0.0, 1.0]])
        true[:2, 2] += 12.0 * share
        moved = brought_back(grey, np.linalg.inv(true))
        motion, _ = found.follow(np.asarray(moved * gain, np.uint8))
        assert motion.found
        off = mapped(motion.matrix, LAMPS) - mapped(true, LAMPS)
        assert np.linalg.norm(off, axis=1).max() < 0.35


def in_front(shift: int) -> NDArray[np.uint8]:
    """Return a panel with little detail at the left, and a box rich in it that has moved."""
    rng = np.random.default_rng(8)
    grey = np.full((144, 256), 120, np.uint8)
    for x, y in rng.uniform((8, 8), (92, 136), (45, 2)).astype(int):
        cv2.circle(grey, (int(x), int(y)), 2, int(rng.integers(20, 220)), -1)
    box = np.kron(rng.integers(20, 235, (16, 14)), np.ones((8, 8))).astype(np.uint8)
    grey[8:136, 110 + shift : 222 + shift] = box
    return grey


def test_what_moves_before_the_panel_is_not_followed() -> None:
    """Tests a box that moves beside the lamps and holds more points than the panel."""
    lamps = np.array([[30.0, 50.0], [60.0, 90.0]])
    found = follower(in_front(0), lamps, 6.0)
    assert found.near.sum() < len(found.points) / 2
    for shift in range(0, 26, 2):
        motion, _ = found.follow(in_front(shift))
        assert motion.found
        assert np.linalg.norm(mapped(motion.matrix, lamps) - lamps, axis=1).max() < 1.5


def test_a_blank_wall_is_refused() -> None:
    """Tests that a picture without detail is no panel."""
    noise = np.random.default_rng(2).normal(120, 2, (144, 256))
    blank = np.asarray(cv2.GaussianBlur(noise, (0, 0), 4), np.uint8)
    with pytest.raises(RecordingError, match="no panel"):
        follower(blank, LAMPS, 6.0)


def test_a_scene_that_changes_is_refused(tmp_path: Path) -> None:
    """Tests that a clip of ever other things is not read."""
    rng = np.random.default_rng(4)
    pictures = [
        np.asarray(np.kron(rng.integers(0, 255, (18, 32, 3)), np.ones((8, 8, 1))), np.uint8)
        for _ in range(30)
    ]
    path = write_clip(tmp_path / "walk.mp4", pictures, np.arange(30) / 30)
    with pytest.raises(RecordingError, match="panel is lost"):
        walked(path, placed({"a": (50.0, 60.0)}))


def test_frames_in_no_order_are_refused(tmp_path: Path) -> None:
    """Tests that a clip whose pictures were shuffled is not read."""
    clip = small_clip()
    path = write_clip(tmp_path / "mixed.mp4", swapped(clip).pictures, clip.times_s)
    with pytest.raises(RecordingError, match="not in order"):
        walked(path, placed(clip.taps))


def test_a_lamp_outside_the_picture_is_told(small: OnDisk) -> None:
    """Tests that a tap beyond the frame names the lamp and the frame's size."""
    taps = {**small.truth.taps, "far": (400.0, 20.0)}
    with pytest.raises(RecordingError, match=r"lamp 'far' lies outside .* 256 x 144"):
        walked(small.path, placed(taps))


def test_the_hand_is_followed_in_every_frame(small: OnDisk) -> None:
    """Tests that no frame is lost, and that lamps stay where they were filmed."""
    found = walked(small.path, placed(small.truth.taps))
    assert found.found.all()
    assert found.gain == pytest.approx(1.0, abs=0.45)
    assert replace(found.size, scale=1.0) == found.size
