"""Painting lamps into a frame as they look lit or dark, softly into what is around."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from tubside.recordings.clip.decoding import NO_COLOUR, Grey
from tubside.recordings.clip.light import GAMMA
from tubside.recordings.clip.planes import Planes

Array = NDArray[np.float64]

REACH = 3.2
"""How far from a lamp's middle is painted, in radii; full up to half of it."""
WHITE, BLACK = 235, 16
SMALLEST_LETTERS = 0.34
"""Of OpenCV's letters, which are 22 pixels high at 1."""


@dataclass(frozen=True, slots=True)
class Look:
    """How a lamp looks in the first frame's own light: three small planes around its middle."""

    planes: tuple[NDArray[np.float32], ...]


@dataclass(frozen=True, slots=True)
class Spot:
    """A lamp in the first frame, in pixels of the full picture."""

    x: float
    y: float
    radius: float

    @property
    def half(self) -> int:
        """Half the side of the square that is painted."""
        return int(np.ceil(REACH * self.radius)) + 2

    def corner(self, scale: Array) -> Array:
        """Return the map from the lamp's square to a plane of the first frame."""
        side = 2 * self.half + 1
        shrunk = scale[0, 0]
        at = scale @ np.array([self.x, self.y, 1.0])
        half = (round(side * shrunk) - 1) / 2
        return np.array([[1.0, 0.0, at[0] - half], [0.0, 1.0, at[1] - half], [0.0, 0.0, 1.0]])


def look_of(pictures: Sequence[tuple[Planes, Array, float]], spot: Spot) -> Look:
    """Return a lamp's look from frames with their motions and gains, averaged."""
    sums: list[NDArray[np.float32]] = []
    for planes, matrix, gain in pictures:
        for n, (plane, scale) in enumerate(planes.each()):
            inner = scale @ matrix @ np.linalg.inv(scale) @ spot.corner(scale)
            side = round((2 * spot.half + 1) * scale[0, 0])
            part = cv2.warpPerspective(
                plane,
                inner,
                (side, side),
                flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
                borderMode=cv2.BORDER_REPLICATE,
            ).astype(np.float32)
            part = part if n else _in_gain(part, 1.0 / gain)
            if len(sums) <= n:
                sums.append(np.zeros_like(part))
            sums[n] += part / len(pictures)
    return Look(tuple(sums))


def _in_gain(luma: NDArray[np.float32], gain: float) -> NDArray[np.float32]:
    """Luma as it would be stored under another gain of the camera."""
    return np.asarray(np.clip((luma - BLACK) * gain ** (1 / GAMMA) + BLACK, 0, 255), np.float32)


def paint(planes: Planes, look: Look, spot: Spot, matrix: Array, gain: float) -> None:
    """Paint a lamp into a frame in place; ``matrix`` maps the first frame onto this one."""
    for n, (plane, scale) in enumerate(planes.each()):
        picture = look.planes[n] if n else _in_gain(look.planes[n], gain)
        _paint_plane(plane, picture, scale @ matrix @ np.linalg.inv(scale) @ spot.corner(scale))


def _paint_plane(plane: Grey, picture: NDArray[np.float32], onto: Array) -> None:
    """Lay a small picture onto a plane; ``onto`` maps its pixels to the plane's."""
    side = picture.shape[0]
    corners = np.array([[0, 0, 1], [side, 0, 1], [0, side, 1], [side, side, 1]], np.float64)
    there = corners @ onto.T
    places = there[:, :2] / there[:, 2:]
    low = np.maximum(np.floor(places.min(0)).astype(int), 0)
    high = np.minimum(np.ceil(places.max(0)).astype(int) + 1, plane.shape[::-1])
    if (high <= low).any():
        return
    shift = np.array([[1.0, 0.0, low[0]], [0.0, 1.0, low[1]], [0.0, 0.0, 1.0]])
    inner = np.linalg.inv(onto) @ shift
    size = (int(high[0] - low[0]), int(high[1] - low[1]))
    laid = [
        cv2.warpPerspective(one, inner, size, flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP)
        for one in (picture, _soft(side))
    ]
    part = plane[low[1] : high[1], low[0] : high[0]]
    mixed = part + laid[1] * (laid[0] - part)
    part[:] = np.clip(np.round(mixed), 0, 255).astype(np.uint8)


def _soft(side: int) -> NDArray[np.float32]:
    """A disc that is full inside and runs out towards the edge of its square."""
    half = (side - 1) / 2
    rows, columns = np.indices((side, side)) - half
    share = np.hypot(rows, columns) / (half - 1)
    return np.asarray(np.clip(2.0 * (1.0 - share), 0.0, 1.0), np.float32)


def mark(planes: Planes, text: str, spot: Spot, matrix: Array, row: int) -> None:
    """Draw a ring around a lamp and its label below, white with a dark rim.

    ``row`` counts the lines by which labels of neighbours stand lower.
    """
    at = matrix @ np.array([spot.x, spot.y, 1.0])
    x, y = at[:2] / at[2]
    for plane, scale in planes.each():
        full = scale[0, 0]
        tall = max(max(planes.luma.shape) / 1600, SMALLEST_LETTERS) * full
        middle = (round(x * full), round(y * full))
        radius = round(1.8 * spot.radius * full)
        line = round(30 * tall) + 1
        below = (middle[0] - radius, middle[1] + radius + line * (1 + row))
        thin = max(1, round(1.5 * tall))
        white, dark = (WHITE, BLACK) if full > 0.9 else (NO_COLOUR, NO_COLOUR)
        cv2.circle(plane, middle, radius, dark, 3 * thin, cv2.LINE_AA)
        cv2.circle(plane, middle, radius, white, thin, cv2.LINE_AA)
        for x_off, y_off in ((-thin, 0), (thin, 0), (0, -thin), (0, thin)):
            _letters(plane, text, (below[0] + x_off, below[1] + y_off), (tall, dark, thin))
        _letters(plane, text, below, (tall, white, thin))


def _letters(plane: Grey, text: str, at: tuple[int, int], pen: tuple[float, int, int]) -> None:
    """Write a text; the pen is size, ink and thickness, which widens OpenCV 5's letters."""
    size, ink, thick = pen
    cv2.putText(plane, text, at, cv2.FONT_HERSHEY_SIMPLEX, size, ink, thick, cv2.LINE_AA)
