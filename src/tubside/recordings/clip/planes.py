"""A frame's three planes upright: luma, and two of colour at half the size."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import av
import numpy as np
from numpy.typing import NDArray

from tubside.errors import RecordingError
from tubside.recordings.clip.decoding import Grey
from tubside.recordings.clip.measuring import HALF

Array = NDArray[np.float64]

PLANAR = {"yuv420p", "yuvj420p"}


@dataclass(frozen=True, slots=True)
class Planes:
    """Luma (rows, columns) and two planes of colour of half the size, all writable."""

    luma: Grey
    blue: Grey
    red: Grey

    def each(self) -> tuple[tuple[Grey, Array], ...]:
        """Return the planes, each with the map from pixels of luma to its own."""
        return (self.luma, np.eye(3)), (self.blue, HALF), (self.red, HALF)

    def changed(self, change: Callable[[Grey], Grey]) -> Planes:
        """Return the planes with a change made to each."""
        return Planes(change(self.luma), change(self.blue), change(self.red))

    def frame(self, like: av.VideoFrame) -> av.VideoFrame:
        """Return the planes as a frame with another one's time and colours."""
        height, width = self.luma.shape
        flat = np.concatenate([self.luma.ravel(), self.blue.ravel(), self.red.ravel()])
        made = av.VideoFrame.from_ndarray(flat.reshape(height * 3 // 2, width), format="yuv420p")
        made.pts, made.time_base = like.pts, like.time_base
        made.color_range, made.colorspace = like.color_range, like.colorspace
        return made


def planes_of(frame: av.VideoFrame, turns: int) -> Planes:
    """Return a frame's planes turned upright by quarter turns against the clock.

    Raises
    ------
    RecordingError
        An odd width or height, for which no player writes colour at half the size.
    """
    if frame.width % 2 or frame.height % 2:
        msg = f"frames of {frame.width} x {frame.height} cannot be written; crop to even numbers"
        raise RecordingError(msg)
    if frame.format.name not in PLANAR:
        frame = frame.reformat(format="yuv420p")
    found = []
    for plane in frame.planes:
        rows = np.frombuffer(memoryview(plane), np.uint8).reshape(-1, plane.line_size)
        upright = np.rot90(rows[: plane.height, : plane.width], turns)
        found.append(np.array(upright, dtype=np.uint8, order="C"))
    return Planes(*found)
