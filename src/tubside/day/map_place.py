"""Where things stand on the drawn map: places to points, and names that do not cover each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tubside.day.problem import Floats, Place

EDGE = 14.0
"""What names keep from the edge of the drawing."""
ON_A_LINE = 25.0
"""Square units of a name that one point of a line under it counts as."""
Box = tuple[float, float, float, float]
"""Left, top, right and bottom."""


@dataclass(frozen=True, slots=True)
class Frame:
    """The part of the drawing that places may stand in."""

    width: float
    height: float
    margin: float


def points(places: Sequence[Place], frame: Frame) -> Floats:
    """Return the points of places in the frame, north up, as large as they fit, (places, 2).

    Plate carree about the middle latitude: a degree of longitude counts as its cosine. Over
    a working day's country that bends nothing one could see.
    """
    lat = np.array([place.lat for place in places])
    lon = np.array([place.lon for place in places])
    across = np.cos(np.radians(0.5 * (lat.min() + lat.max())))
    flat = np.column_stack([lon * across, -lat])
    low, high = flat.min(axis=0), flat.max(axis=0)
    room = np.array([frame.width - 2 * frame.margin, frame.height - 2 * frame.margin])
    with np.errstate(divide="ignore"):
        scale = float(np.min(room / (high - low)))
    scale = scale if np.isfinite(scale) else 1.0
    middle = np.array([frame.width, frame.height]) / 2
    return np.asarray(middle + (flat - 0.5 * (low + high)) * scale)


def apart(where: Floats, least: float, frame: Frame, rounds: int = 60) -> Floats:
    """Push points that stand closer than ``least`` away from each other, inside the frame.

    Equal points part along a turning direction, so that nothing is drawn at random.
    """
    where = where.copy()
    count = len(where)
    turn = np.arange(count) * 2.399963  # the golden angle
    aside = np.column_stack([np.cos(turn), np.sin(turn)])
    for _ in range(rounds):
        between = where[:, None] - where[None]
        far = np.hypot(between[..., 0], between[..., 1])
        np.fill_diagonal(far, np.inf)
        if (far >= least).all():
            break
        together = (far < 1e-6)[..., None]
        away = np.where(together, aside[:, None] - aside[None], between)
        away = away / np.maximum(np.hypot(away[..., 0], away[..., 1]), 1e-9)[..., None]
        push = np.where(far < least, 0.5 * (least - far), 0.0)
        where = where + (away * push[..., None]).sum(axis=1)
        low = np.full(2, frame.margin)
        where = np.clip(where, low, np.array([frame.width, frame.height]) - frame.margin)
    return where


def along(way: Floats, step: float = 6.0) -> Floats:
    """Return points on a line through ``way``, ``step`` apart, (points, 2)."""
    parts = [
        start
        + np.linspace(0.0, 1.0, 2 + int(np.hypot(*(end - start)) / step))[:, None] * (end - start)
        for start, end in pairwise(way)
    ]
    return np.concatenate([np.empty((0, 2)), *parts])


@dataclass(frozen=True, slots=True, eq=False)
class Crowd:
    """What names should not cover."""

    marks: Floats  # (marks, 2)
    gap: float  # half the width of a mark
    lines: Floats  # (points, 2), points along lines


def name_boxes(
    where: Floats, widths: Sequence[float], height: float, crowd: Crowd, frame: Frame
) -> list[Box]:
    """Return a box for each name beside its mark, where it covers least of what is there.

    Right, left, below, above and the corners are tried in turn; marks count most, then names,
    then lines. A box always stays inside the frame.
    """
    gap = crowd.gap
    marks = [(x - gap, y - gap, x + gap, y + gap) for x, y in crowd.marks]
    taken: list[Box] = []
    for (x, y), width in zip(where, widths, strict=True):
        tried = [_inside(box, frame) for box in _around(float(x), float(y), width, (height, gap))]
        costs = [
            2.0 * sum(_shared(box, mark) for mark in marks)
            + sum(_shared(box, other) for other in taken)
            + ON_A_LINE * _inside_of(box, crowd.lines)
            for box in tried
        ]
        taken.append(tried[int(np.argmin(costs))])
    return taken


def _inside_of(box: Box, spots: Floats) -> int:
    left, top, right, bottom = box
    x, y = spots.T
    return int(((x > left) & (x < right) & (y > top) & (y < bottom)).sum())


def _around(x: float, y: float, width: float, size: tuple[float, float]) -> list[Box]:
    height, gap = size
    near = gap + 2.0
    corners = [
        (x + near, y - height / 2),
        (x - near - width, y - height / 2),
        (x - width / 2, y + near),
        (x - width / 2, y - near - height),
        (x + 0.7 * near, y + 0.7 * near),
        (x - 0.7 * near - width, y + 0.7 * near),
        (x + 0.7 * near, y - 0.7 * near - height),
        (x - 0.7 * near - width, y - 0.7 * near - height),
    ]
    return [(left, top, left + width, top + height) for left, top in corners]


def _inside(box: Box, frame: Frame) -> Box:
    left, top, right, bottom = box
    across = min(max(left, EDGE), max(frame.width - EDGE - (right - left), EDGE)) - left
    down = min(max(top, EDGE), frame.height - EDGE - (bottom - top)) - top
    return left + across, top + down, right + across, bottom + down


def _shared(one: Box, other: Box) -> float:
    across = min(one[2], other[2]) - max(one[0], other[0])
    down = min(one[3], other[3]) - max(one[1], other[1])
    return max(across, 0.0) * max(down, 0.0)
