"""Where a panel's lamps lie in the first frame: as tapped, the rest from the panel's drawing.

A flat panel maps onto a frame by a homography (Hartley & Zisserman, Multiple View Geometry,
2nd ed. 2004, section 2.3; page from memory). Taps err by pixels, so no more of its eight
numbers are fitted than they settle: a similarity from three, an affine map from four, a
homography from six.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from tubside import strict_yaml
from tubside.errors import PanelError, RecordingError
from tubside.panel.schema import Panel
from tubside.panel.straightening import mapped
from tubside.recordings.clip.taps import Taps

Array = NDArray[np.float64]

FEWEST = 3
FOR_AFFINE, FOR_HOMOGRAPHY = 4, 6
FLATTEST = 0.15
"""Lamps nearly in one line settle no affine map: least spread across over that along."""
FARTHEST_OFF = 0.35
"""A tap may miss its lamp by this share of the way to the nearest other lamp."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """A lamp on the panel's drawing: place and size, all in one unit of length."""

    x: float
    y: float
    size: float


@dataclass(frozen=True, slots=True)
class Placed:
    """Lamps in the first frame [pixels]: ids, places (lamps, 2), radii where known."""

    names: tuple[str, ...]
    xy: Array
    radius: Array | None = None

    @property
    def spacing(self) -> float:
        """The shortest way between two lamps; infinite when there is one only."""
        apart = np.linalg.norm(self.xy[:, None] - self.xy[None], axis=2)
        apart[np.diag_indices(len(apart))] = np.inf
        return float(apart.min())


def drawn_lamps(path: Path) -> dict[str, Drawn]:
    """Return the lamps of a panel file; the rest of it is read but not checked.

    Raises
    ------
    PanelError
        A file that is no panel.
    """
    document = strict_yaml.read_file(path, None, PanelError)
    panel = strict_yaml.convert(document, Panel, PanelError)
    return {name: Drawn(lamp.x, lamp.y, lamp.size) for name, lamp in panel.lamps.items()}


def placed(taps: Taps, drawn: Mapping[str, Drawn] | None = None) -> Placed:
    """Return where the lamps lie, all those drawn when there is a drawing.

    Raises
    ------
    RecordingError
        A tap on a lamp the panel lacks, too few taps, or taps that do not fit the drawing.
    """
    if drawn is None:
        return _need_apart(Placed(tuple(taps), np.array(list(taps.values()), dtype=np.float64)))
    if strange := [name for name in taps if name not in drawn]:
        near = strict_yaml.or_one_of(strange[0], drawn)
        msg = f"the panel has no lamp '{strange[0]}'; {near}"
        raise RecordingError(msg)
    names = tuple(drawn)
    if len(taps) == len(drawn) < FEWEST:
        return _need_apart(Placed(names, np.array([taps[name] for name in names], np.float64)))
    if len(taps) < FEWEST:
        missing = ", ".join(name for name in names if name not in taps)
        msg = f"{len(taps)} taps do not place the other lamps; tap three or more ({missing})"
        raise RecordingError(msg)
    return _from_drawing(taps, drawn)


def _from_drawing(taps: Taps, drawn: Mapping[str, Drawn]) -> Placed:
    """Lamps by the map from drawing to frame; tapped ones stay where they were tapped."""
    names = tuple(drawn)
    places = np.array([(lamp.x, lamp.y) for lamp in drawn.values()], np.float64)
    tapped = np.array([name in taps for name in names])
    there = np.array([taps[name] for name in names if name in taps], np.float64)
    matrix = fitted(places[tapped], there)
    xy = mapped(matrix, places)
    spacing = Placed(names, xy).spacing
    off = np.linalg.norm(xy[tapped] - there, axis=1)
    if off.max() > FARTHEST_OFF * spacing or not np.isfinite(xy).all():
        worst = [name for name in names if name in taps][int(off.argmax())]
        msg = f"the taps do not fit the panel's drawing, worst '{worst}'; tap its lamps again"
        raise RecordingError(msg)
    xy[tapped] = there
    scale = np.sqrt(abs(np.linalg.det(matrix[:2, :2])))
    radius = np.array([lamp.size for lamp in drawn.values()]) / 2 * scale
    return _need_apart(Placed(names, xy, radius))


def fitted(source: Array, target: Array) -> Array:
    """Return the map with as many free numbers as the points settle, shape (3, 3)."""
    spread = np.linalg.svd(source - source.mean(0), compute_uv=False)
    flat = spread[1] < FLATTEST * spread[0]
    if len(source) >= FOR_HOMOGRAPHY and not flat:
        return np.asarray(cv2.findHomography(source, target, 0)[0], np.float64)
    similar = similarity(source, target)
    off = np.linalg.norm(mapped(similar, source) - target, axis=1).max()
    if len(source) >= FOR_AFFINE and not flat and off > 2.0:
        lifted = np.column_stack([source, np.ones(len(source))])
        rows = np.linalg.lstsq(lifted, target, rcond=None)[0].T
        return np.vstack([rows, [0.0, 0.0, 1.0]])
    return similar


def similarity(source: Array, target: Array) -> Array:
    """Return the turn, scale and shift that fit best by least squares, shape (3, 3).

    Written with complex numbers, z' = a z + b, which leaves out mirrors.

    >>> square = np.array([[0.0, 0], [1, 0], [1, 1]])
    >>> similarity(square, square * 2 + 3).round(9).tolist()
    [[2.0, -0.0, 3.0], [0.0, 2.0, 3.0], [0.0, 0.0, 1.0]]
    """
    z, w = source @ np.array([1, 1j]), target @ np.array([1, 1j])
    dz, dw = z - z.mean(), w - w.mean()
    a = np.vdot(dz, dw) / np.vdot(dz, dz).real
    b = w.mean() - a * z.mean()
    return np.array([[a.real, -a.imag, b.real], [a.imag, a.real, b.imag], [0.0, 0.0, 1.0]])


def _need_apart(lamps: Placed) -> Placed:
    """Refuse two lamps on one spot."""
    if lamps.spacing < 1.0:
        msg = "two lamps are tapped at one place; tap each lamp in its middle"
        raise RecordingError(msg)
    return lamps
