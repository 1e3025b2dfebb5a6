"""Straightening, against a closed form, by its properties, and on drawn photos at an angle.

A picture library's homography is held against ours among the oracles. Heckbert's closed
form for the map of the unit square (Fundamentals of Texture Mapping and Image Warping,
1989, section 2.2.3, from memory) is another way to the same matrix.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import PhotoError
from tubside.panel.straightening import (
    Floats,
    homography,
    in_order,
    mapped,
    shape_of,
    straightened,
)

SQUARE = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])


def corners_by(shifts: list[float], size: float = 1000.0) -> Floats:
    """A square whose corners are moved by up to a fifth of its side."""
    return size * (SQUARE + 0.2 * np.reshape(shifts, (4, 2)))


moved = st.lists(st.floats(-1, 1), min_size=8, max_size=8).map(corners_by)


def by_heckbert(corners: Floats) -> Floats:
    """The map from the unit square by the closed form."""
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = corners
    sx, sy = x0 - x1 + x2 - x3, y0 - y1 + y2 - y3
    dx1, dy1, dx2, dy2 = x1 - x2, y1 - y2, x3 - x2, y3 - y2
    whole = dx1 * dy2 - dx2 * dy1
    g, h = (sx * dy2 - dx2 * sy) / whole, (dx1 * sy - sx * dy1) / whole
    first = [x1 - x0 + g * x1, x3 - x0 + h * x3, x0]
    second = [y1 - y0 + g * y1, y3 - y0 + h * y3, y0]
    return np.array([first, second, [g, h, 1.0]])


@given(moved)
def test_agrees_with_the_closed_form(corners: Floats) -> None:
    """Tests that the null vector is the matrix that the closed form gives."""
    ours, theirs = homography(SQUARE, corners), by_heckbert(corners)
    assert ours == pytest.approx(theirs, rel=1e-8, abs=1e-8)


@given(moved, moved)
def test_four_points_are_met(here: Floats, there: Floats) -> None:
    """Tests that the four points go where they must, there and back."""
    assert mapped(homography(here, there), here) == pytest.approx(there, abs=1e-6)
    assert mapped(homography(there, here), there) == pytest.approx(here, abs=1e-6)


@given(moved, st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=1, max_size=9))
def test_the_way_back_undoes(corners: Floats, points: list[tuple[float, float]]) -> None:
    """Tests that mapping and its inverse leave points where they were."""
    there = homography(SQUARE, corners)
    back = homography(corners, SQUARE)
    assert mapped(back, mapped(there, points)) == pytest.approx(np.array(points), abs=1e-8)


@given(moved, st.floats(0.1, 0.9), st.floats(0.1, 0.9))
def test_lines_stay_lines(corners: Floats, one: float, other: float) -> None:
    """Tests that three points of a line are three points of a line afterwards."""
    line = [(one, 0.0), ((one + other) / 2, 0.5), (other, 1.0)]
    a, b, c = mapped(homography(SQUARE, corners), line)
    (px, py), (qx, qy) = b - a, c - a
    assert px * qy - py * qx == pytest.approx(0, abs=1e-5)


@given(moved, st.permutations(range(4)))
def test_corners_are_put_in_order(corners: Floats, order: list[int]) -> None:
    """Tests that the order of tapping does not matter."""
    assert in_order(corners[order]) == pytest.approx(corners)


@pytest.mark.parametrize(
    "corners",
    [
        [(0, 0), (1, 0), (1, 1)],
        [(0, 0), (1, 0), (2, 0), (0, 1)],
        [(0, 0), (0, 0), (1, 1), (0, 1)],
        [(0, 0), (10, 0), (0, 10), (2, 3)],
        [(0, 0), (1, 0), (1, float("nan")), (0, 1)],
    ],
)
def test_what_is_no_panel_is_refused(corners: list[tuple[float, float]]) -> None:
    """Tests that corners that span nothing, or are missing, are told plainly."""
    with pytest.raises(PhotoError, match="tap"):
        in_order(corners)


def photographed(lamps: Floats, corners: Floats) -> np.ndarray:
    """A photo of a panel with red lamps at shares of its width and height."""
    rows, columns = np.mgrid[0:600, 0:800]
    pixels = np.column_stack([columns.ravel() + 0.5, rows.ravel() + 0.5])
    flat = mapped(by_heckbert_back(corners), pixels)
    photo = np.full((600 * 800, 3), 90, np.uint8)
    inside = ((flat > 0) & (flat < 1)).all(axis=1)
    photo[inside] = 230
    for lamp in lamps:
        near = (2 * (flat[:, 0] - lamp[0])) ** 2 + (flat[:, 1] - lamp[1]) ** 2 < 0.04**2
        photo[inside & near] = (200, 30, 20)
    return photo.reshape(600, 800, 3)


def by_heckbert_back(corners: Floats) -> Floats:
    """The closed form's way from the photo to the unit square."""
    return np.asarray(np.linalg.inv(by_heckbert(corners)), np.float64)


ANGLES = {
    "from the left": [(120, 60), (700, 150), (690, 430), (130, 560)],
    "from above": [(90, 120), (720, 110), (620, 500), (180, 510)],
    "turned": [(180, 60), (740, 200), (640, 540), (70, 380)],
}


@pytest.mark.parametrize("angle", ANGLES)
def test_lamps_of_a_photo_at_an_angle(angle: str) -> None:
    """Tests that lamps found on the straightened photo are off by under 2 % of its width.

    The tolerance is that of the task, for corners tapped one pixel wrong as well.
    """
    corners = np.array(ANGLES[angle], np.float64)
    lamps = np.array([(0.1, 0.2), (0.5, 0.5), (0.9, 0.8), (0.2, 0.85), (0.8, 0.15), (0.6, 0.7)])
    wrong_by_one = corners + np.array([(1, -1), (-1, -1), (1, 1), (-1, 1)])
    flat = straightened(photographed(lamps, corners), wrong_by_one, 400, 200)
    assert flat.shape == (200, 400, 3)
    red = (flat[..., 0] > 150) & (flat[..., 1] < 110)
    rows, columns = np.nonzero(red)
    seen = np.column_stack([(columns + 0.5) / 400, (rows + 0.5) / 200])
    for lamp in lamps:
        near = seen[np.linalg.norm((seen - lamp) * (1, 0.5), axis=1) < 0.06]
        assert len(near) > 20
        error = np.linalg.norm((near.mean(axis=0) - lamp) * (1, 0.5))
        assert error < 0.02


def test_square_on_is_the_photo_itself() -> None:
    """Tests that a photo whose corners are its own is copied, and its shape told."""
    photo = np.random.default_rng(1).integers(0, 256, (30, 60, 3), np.uint8)
    corners = [(0, 0), (60, 0), (60, 30), (0, 30)]
    assert np.array_equal(straightened(photo, corners, 60, 30), photo)
    assert shape_of(corners) == pytest.approx(2.0)
