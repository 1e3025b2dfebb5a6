"""A panel photographed at an angle, made square by its four corners.

A flat panel and its photo are related by a homography, eight numbers that four pairs
of points settle exactly (Hartley & Zisserman, Multiple View Geometry, 2nd ed. 2004,
section 4.1, the direct linear transform; page from memory). Bent fronts and lenses
that bend lines are outside it: what is straight must be straight in the photo.
"""

from __future__ import annotations

from itertools import pairwise
from math import dist

import numpy as np
import numpy.typing as npt

from tubside.errors import PhotoError

Floats = npt.NDArray[np.float64]
Image = npt.NDArray[np.uint8]

SMALLEST_SHARE = 1e-3
"""Four corners around less than this share of their bounding square are no panel."""


def homography(source: npt.ArrayLike, target: npt.ArrayLike) -> Floats:
    """The 3 x 3 matrix that maps four points onto four others, its last number 1.

    Parameters
    ----------
    source, target : array_like, shape (4, 2)
        Points, no three in line, in the same order.

    Returns
    -------
    ndarray, shape (3, 3)
        H with (x', y', w) = H (x, y, 1) and the mapped point (x'/w, y'/w). The null
        vector of the eight equations, found on points moved to their middle and
        brought to one scale, without which it loses digits (same book, section 4.4).

    Raises
    ------
    PhotoError
        When three of the points are in line.

    Examples
    --------
    >>> square = [(0, 0), (1, 0), (1, 1), (0, 1)]
    >>> found = homography(square, [(2, 3), (6, 3), (6, 5), (2, 5)])
    >>> bool(np.allclose(found, [[4, 0, 2], [0, 2, 3], [0, 0, 1]]))
    True
    """
    here, there = np.asarray(source, np.float64), np.asarray(target, np.float64)
    for points in (here, there):
        _need_four(points)
    near, far = _to_one_scale(here), _to_one_scale(there)
    rows = []
    for (x, y), (u, v) in zip(mapped(near, here), mapped(far, there), strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y, -u])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y, -v])
    found = np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3)
    matrix: Floats = np.linalg.inv(far) @ found @ near
    return np.asarray(matrix / matrix[2, 2], np.float64)


def mapped(matrix: Floats, points: npt.ArrayLike) -> Floats:
    """Points, shape (n, 2), under a homography."""
    flat = np.asarray(points, np.float64).reshape(-1, 2)
    lifted = np.column_stack([flat, np.ones(len(flat))]) @ matrix.T
    return np.asarray(lifted[:, :2] / lifted[:, 2:], np.float64)


def in_order(corners: npt.ArrayLike) -> Floats:
    """Four corners as top left, top right, bottom right, bottom left.

    They may come in any order; the panel must be turned by less than 45 degrees.

    Raises
    ------
    PhotoError
        When they do not stand around a panel: three in line, or one inside the others.

    >>> in_order([(9, 8), (0, 0), (1, 7), (10, 1)]).tolist()
    [[0.0, 0.0], [10.0, 1.0], [9.0, 8.0], [1.0, 7.0]]
    """
    points = np.asarray(corners, np.float64)
    _need_four(points)
    right, down = (points - points.mean(axis=0)).T
    around = points[np.argsort(np.arctan2(down, right), kind="stable")]
    turns = [_turn(around[n], around[(n + 1) % 4], around[(n + 2) % 4]) for n in range(4)]
    if min(turns) <= 0:
        msg = "one corner lies inside the other three; tap the four outer corners of the panel"
        raise PhotoError(msg)
    return np.roll(around, -int(np.argmin(around.sum(axis=1))), axis=0)


def shape_of(corners: npt.ArrayLike) -> float:
    """Width over height of the panel, from the mean of opposite edges.

    True for a photo from straight ahead; from an angle the edges shorten unequally and
    this errs, so a measured width and height are better where they are known.
    """
    around = in_order(corners)
    top, right, bottom, left = (
        dist(one, other) for one, other in pairwise([*around.tolist(), around[0].tolist()])
    )
    return (top + bottom) / (left + right)


def straightened(image: Image, corners: npt.ArrayLike, width: int, height: int) -> Image:
    """The panel between four corners, as a square picture of its own.

    Parameters
    ----------
    image : ndarray of uint8, shape (rows, columns, 3)
        The photo.
    corners : array_like, shape (4, 2)
        x and y in the photo [pixels from its top left edge], in any order.
    width, height : int
        Of the picture wanted [pixels].

    Returns
    -------
    ndarray of uint8, shape (height, width, 3)
        Each pixel looked up at its place in the photo, between the four nearest
        (bilinear); what lies outside the photo takes the colour of its edge.
    """
    frame = [(0, 0), (width, 0), (width, height), (0, height)]
    back = homography(frame, in_order(corners))
    across, down = np.meshgrid(np.arange(width) + 0.5, np.arange(height) + 0.5)
    places = mapped(back, np.column_stack([across.ravel(), down.ravel()])) - 0.5
    return _between(image, places).reshape(height, width, 3)


def _between(image: Image, places: Floats) -> Image:
    """The image at places between its pixels, shape (n, 2) to (n, 3)."""
    rows, columns = image.shape[:2]
    x = np.clip(places[:, 0], 0, columns - 1)
    y = np.clip(places[:, 1], 0, rows - 1)
    left, top = np.floor(x).astype(np.intp), np.floor(y).astype(np.intp)
    right, bottom = np.minimum(left + 1, columns - 1), np.minimum(top + 1, rows - 1)
    part, fall = (x - left)[:, None], (y - top)[:, None]
    above = image[top, left] * (1 - part) + image[top, right] * part
    below = image[bottom, left] * (1 - part) + image[bottom, right] * part
    return np.asarray(np.rint(above * (1 - fall) + below * fall), np.uint8)


def _need_four(points: Floats) -> None:
    if points.shape != (4, 2) or not np.isfinite(points).all():
        msg = "a panel has four corners; tap each of them once"
        raise PhotoError(msg)
    size = float(np.ptp(points, axis=0).max()) ** 2
    for left_out in range(4):
        three = np.delete(points, left_out, axis=0)
        if abs(_turn(*three)) <= SMALLEST_SHARE * size:
            msg = "three corners are in line; tap the four outer corners of the panel"
            raise PhotoError(msg)


def _turn(one: Floats, two: Floats, three: Floats) -> float:
    """Twice the area of a triangle, positive when it goes clockwise as seen."""
    (ax, ay), (bx, by) = two - one, three - two
    return float(ax * by - ay * bx)


def _to_one_scale(points: Floats) -> Floats:
    """The matrix that moves points to their middle, at a mean distance of root two."""
    middle = points.mean(axis=0)
    scale = np.sqrt(2) / np.linalg.norm(points - middle, axis=1).mean()
    return np.array([[scale, 0, -scale * middle[0]], [0, scale, -scale * middle[1]], [0, 0, 1]])
