"""Lamp places in each of several clips of one panel, when the lamps were tapped in one only."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import cast

import cv2
import numpy as np
from numpy.typing import NDArray

from tubside.errors import RecordingError
from tubside.panel.straightening import mapped
from tubside.recordings.clip.decoding import Frame, Size, frames
from tubside.recordings.clip.following import evened
from tubside.recordings.clip.placing import Drawn, Placed, placed
from tubside.recordings.clip.taps import Taps

MOST_FEATURES = 1500
RATIO = 0.8
"""A feature's best match must be nearer than this share of its second best (Lowe 2004)."""
STRAY, LEAST = 3.0, 25


def places_in_each(
    paths: Sequence[Path], taps: Sequence[Taps], drawn: Mapping[str, Drawn] | None
) -> list[Placed]:
    """Return the lamps' places in the first frame of every clip.

    Raises
    ------
    RecordingError
        Neither one set of taps nor one for each clip; or a clip that cannot be laid on the
        first.
    """
    if len(taps) == len(paths):
        return [placed(one, drawn) for one in taps]
    if len(taps) != 1:
        msg = f"there are {len(taps)} sets of taps for {len(paths)} clips; give one for each"
        raise RecordingError(msg)
    first = placed(taps[0], drawn)
    return [first, *(_laid(first, paths[0], path) for path in paths[1:])]


def _laid(lamps: Placed, here: Path, there: Path) -> Placed:
    """Lamps placed in one clip, carried to another by features that both first frames show."""
    (size, one), (other_size, other) = _first(here), _first(there)
    matrix = _between(one.grey, other.grey)
    if matrix is None:
        msg = f"{there.name} does not look like the panel of {here.name}; give taps for each clip"
        raise RecordingError(msg)
    xy = (mapped(matrix, (lamps.xy + 0.5) * size.scale - 0.5) + 0.5) / other_size.scale - 0.5
    grown = np.sqrt(abs(np.linalg.det(matrix[:2, :2]))) * size.scale / other_size.scale
    return Placed(lamps.names, xy, None if lamps.radius is None else lamps.radius * grown)


def _first(path: Path) -> tuple[Size, Frame]:
    for found in frames(path):
        return found
    msg = f"{path.name} has no frames that can be read; send the original file"
    raise RecordingError(msg)


def _between(one: NDArray[np.uint8], other: NDArray[np.uint8]) -> NDArray[np.float64] | None:
    finder = cv2.SIFT.create(MOST_FEATURES)
    places, marks = finder.detectAndCompute(evened(one), None)
    there, other_marks = finder.detectAndCompute(evened(other), None)
    if len(places) < LEAST or len(there) < LEAST:
        return None
    pairs = cv2.BFMatcher().knnMatch(marks, other_marks, k=2)
    good = [a for a, b in pairs if a.distance < RATIO * b.distance]
    if len(good) < LEAST:
        return None
    source = np.array([places[match.queryIdx].pt for match in good])
    target = np.array([there[match.trainIdx].pt for match in good])
    found, inside = cv2.findHomography(source, target, cv2.RANSAC, STRAY)
    matrix = cast("NDArray[np.float64] | None", found)
    return None if matrix is None or inside.sum() < LEAST else matrix
