"""Tests of straightening against OpenCV's own homography and warping."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.panel.straightening import Floats, homography, mapped, straightened

SQUARE = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])
SIZE = (640, 480)


@pytest.fixture(scope="module")
def cv2() -> Any:
    """Return OpenCV."""
    return pytest.importorskip("cv2", reason="the extra 'recordings' is not installed")


def corners_by(shifts: list[float]) -> Floats:
    """The corners of a panel in a photo, each moved by up to a fifth of the width."""
    return np.asarray((100, 80) + 300 * (SQUARE + 0.2 * np.reshape(shifts, (4, 2))))


corners = st.lists(st.floats(-1, 1), min_size=8, max_size=8).map(corners_by)


@given(corners, corners)
def test_same_homography(cv2: Any, source: Floats, target: Floats) -> None:
    """Tests the matrix: single-precision corners in, so 1e-4 of a pixel where it maps."""
    near, far = source.astype(np.float32), target.astype(np.float32)
    theirs = cv2.getPerspectiveTransform(near, far)
    ours = homography(near, far)
    inside = near.mean(axis=0) + 0.9 * (near - near.mean(axis=0))
    assert mapped(ours, inside) == pytest.approx(mapped(theirs, inside), abs=1e-4)
    assert mapped(ours, near) == pytest.approx(far.astype(float), abs=1e-4)


def test_same_picture(cv2: Any) -> None:
    """Tests a smooth picture made straight: OpenCV's bilinear weights are in 1/32 of a pixel.

    A weight that is off by 1/64 in each direction, on slopes of at most 3 grey levels a
    pixel, is below half a level; with both roundings the pictures differ by 1 at most.
    """
    down, across = np.mgrid[0 : SIZE[1], 0 : SIZE[0]]
    waves = 127 + 60 * np.sin(across / 20) * np.cos(down / 25)
    photo = np.stack([waves, 255 - waves, across * 255 / SIZE[0]], axis=2).astype(np.uint8)
    around = np.array([(90.0, 110.0), (540.0, 60.0), (580.0, 400.0), (60.0, 350.0)])
    wide, high = 400, 200
    frame = np.array([(0, 0), (wide, 0), (wide, high), (0, high)], dtype=np.float64)
    half = 0.5  # OpenCV counts from the middles of pixels, we from their edges
    matrix = cv2.getPerspectiveTransform(
        (around - half).astype(np.float32), (frame - half).astype(np.float32)
    )
    theirs = cv2.warpPerspective(photo, matrix, (wide, high), flags=cv2.INTER_LINEAR)
    ours = straightened(photo, around, wide, high)
    assert np.abs(ours.astype(int) - theirs.astype(int)).max() <= 1
