"""Clips that show no panel, or one with nothing lit, yield no states."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from encoded_clips import write_clip
from filmed_clips import filmed
from small_clips import CAMERA, OnDisk, small_lamps
from tubside.errors import RecordingError
from tubside.recordings.clip.placing import Drawn
from tubside.recordings.lamps_in_clip import read_clip

HIGH, WIDE, FRAMES = 144, 256, 60
TAPS = {"a": (80.0, 70.0), "b": (170.0, 70.0)}
Picture = NDArray[np.uint8]


def as_clip(folder: Path, pictures: list[Picture]) -> Path:
    """Return pictures written as a clip of 30 a second."""
    return write_clip(folder / "clip.mp4", pictures, np.arange(len(pictures)) / 30)


def test_a_wall_with_a_lamp_on_it_is_refused(tmp_path: Path) -> None:
    """Tests that a flashing spot on a wall without detail is not read."""
    noise = np.random.default_rng(6).normal(0.0, 1.0, (FRAMES, HIGH, WIDE, 1))
    pictures = []
    for n, grain in enumerate(noise):
        wall = np.asarray(np.clip(120 + grain.repeat(3, axis=2), 0, 255), np.uint8)
        if n // 10 % 2:
            cv2.circle(wall, (80, 70), 5, (250, 250, 250), -1)
        pictures.append(wall)
    with pytest.raises(RecordingError, match="no panel is seen"):
        read_clip([as_clip(tmp_path, pictures)], TAPS)


def test_a_ride_past_many_things_is_refused(tmp_path: Path) -> None:
    """Tests that a camera that moves on along a wall of things loses its panel."""
    rng = np.random.default_rng(8)
    coarse = rng.integers(20, 235, (18, 200, 3)).astype(np.uint8)
    street = np.kron(coarse, np.ones((8, 8, 1))).astype(np.uint8)
    pictures: list[Picture] = [street[:, 20 * n : 20 * n + WIDE].copy() for n in range(FRAMES)]
    with pytest.raises(RecordingError, match=r"panel is lost|not in order"):
        read_clip([as_clip(tmp_path, pictures)], TAPS)


def test_a_panel_with_nothing_lit_tells_no_lamp_on(tmp_path: Path) -> None:
    """Tests that unlit lamps are off or left open, with likelihoods that favour no light."""
    unlit = tuple(
        replace(lamp, state="off", spans=np.empty((0, 2)), period_s=None) for lamp in small_lamps()
    )
    clip = filmed(np.random.default_rng(12), replace(CAMERA, length_s=2.5), unlit)
    path = write_clip(tmp_path / "unlit.mp4", clip.pictures, clip.times_s)
    read = read_clip([path], clip.taps)
    assert {lamp.state for lamp in read.lamps.values()} <= {"off", "unknown"}
    assert all(lamp.probability["off"] >= 0.3 for lamp in read.lamps.values())


def test_swapped_labels_are_refused_before_reading(small: OnDisk) -> None:
    """Tests that taps with each other's names do not fit the panel's drawing."""
    drawn = {name: Drawn(10.0 * x, 10.0 * y, 90.0) for name, (x, y) in small.truth.taps.items()}
    drawn["L9"] = Drawn(1200.0, 1100.0, 90.0)
    taps = {**small.truth.taps, "L9": (120.0, 110.0)}
    taps["L0"], taps["L9"] = taps["L9"], taps["L0"]
    with pytest.raises(RecordingError, match="do not fit"):
        read_clip([small.path], taps, drawn)
