"""The frames of a clip one after another, upright and with their true times.

Nothing is kept: who walks the frames decides what to keep, so that a minute of 4K needs
the memory of a few frames.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

import av
import cv2
import numpy as np
from numpy.typing import NDArray

from tubside.errors import RecordingError
from tubside.recordings.opening import opened

Grey = NDArray[np.uint8]

LONG_SIDE = 960
"""Pictures are brought down to this [pixels] before anything is looked for in them."""
LARGEST = 4096 * 2304
"""Most pixels of a frame: 4K, as phones film it."""
LONGEST_S = 90.0
MOST_FRAMES = 15_000
"""A minute at 240 frames a second, and a little."""
MOST_DAMAGED = 25
"""Packets that cannot be decoded before a clip is called damaged."""
EIGHT_BIT = {"yuv420p", "yuvj420p", "yuv422p", "yuvj422p", "yuv444p", "yuvj444p"}
FULL_RANGE = 2
VIDEO_BLACK, VIDEO_SPAN = 16, 219
"""Luma of black and its span to white in video range (ITU-R BT.601 and BT.709)."""
STRETCH = np.clip(np.round((np.arange(256) - VIDEO_BLACK) * 255.0 / VIDEO_SPAN), 0, 255).astype(
    np.uint8
)
NO_COLOUR, COLOUR_SPAN = 128, 224
"""Of the planes of colour in video range (same recommendations)."""
STRETCH_COLOUR = np.clip(
    np.round((np.arange(256) - NO_COLOUR) * 255.0 / COLOUR_SPAN) + NO_COLOUR, 0, 255
).astype(np.uint8)


@dataclass(frozen=True, slots=True)
class Size:
    """How frames are shown.

    ``width`` and ``height`` are those of a frame turned upright [pixels], ``turns`` how many
    quarter turns against the clock that took, ``scale`` working pixels per pixel.
    """

    width: int
    height: int
    turns: int
    scale: float

    @property
    def working(self) -> tuple[int, int]:
        """Width and height of working pictures [pixels]."""
        return round(self.width * self.scale), round(self.height * self.scale)

    def row_share(self, x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
        """How far down the sensor places of the upright frame lie, 0 the row read first."""
        shares = (y / self.height, x / self.width)
        share = shares[self.turns % 2]
        return np.asarray(share if self.turns < 2 else 1.0 - share)


@dataclass(frozen=True, slots=True)
class Frame:
    """One frame: its time and the file's unit of it [s], its picture upright at working size.

    ``grey`` is luma, ``colour`` its planes for blue and red at half the size.
    """

    time_s: float
    tick_s: float
    grey: Grey
    colour: tuple[Grey, Grey]


def size_of(frame: av.VideoFrame) -> Size:
    """Return how a clip with this frame is shown.

    Raises
    ------
    RecordingError
        A frame larger than 4K.
    """
    if frame.width * frame.height > LARGEST:
        msg = f"the frames are {frame.width} x {frame.height}; film in 4K at most"
        raise RecordingError(msg)
    turns = round(frame.rotation / 90) % 4
    wide, high = (frame.height, frame.width) if turns % 2 else (frame.width, frame.height)
    return Size(wide, high, turns, min(1.0, LONG_SIDE / max(wide, high)))


def raw_frames(container: av.container.InputContainer, name: str) -> Iterator[av.VideoFrame]:
    """Yield the frames whose times rise, as decoded; damaged packets are skipped.

    Raises
    ------
    RecordingError
        Too much damage, or a clip longer than a minute.
    """
    last, first, damaged = -np.inf, np.nan, 0
    for packet in container.demux(container.streams.video[0]):
        try:
            frames = packet.decode()
        except av.InvalidDataError:
            damaged += 1
            if damaged > MOST_DAMAGED:
                msg = f"{name} is damaged; send the original file, not a forwarded one"
                raise RecordingError(msg) from None
            continue
        for frame in frames:
            if frame.pts is None or frame.time <= last:
                continue
            time_s = frame.time
            first = time_s if np.isnan(first) else first
            if time_s - first > LONGEST_S:
                msg = f"{name} is longer than a minute; cut it to the ten seconds that matter"
                raise RecordingError(msg)
            last = time_s
            yield frame


def upright(frame: av.VideoFrame, size: Size) -> tuple[Grey, tuple[Grey, Grey]]:
    """Return a frame's luma and its two planes of colour upright, in full range, working size.

    Colour has half the size of luma, in steps of the stored unit about 128.
    """
    if frame.format.name not in EIGHT_BIT:
        frame = frame.reformat(format="yuv420p")
    full = frame.format.name.startswith("yuvj") or frame.color_range == FULL_RANGE
    planes = []
    for n, plane in enumerate(frame.planes):
        rows = np.frombuffer(memoryview(plane), np.uint8).reshape(-1, plane.line_size)
        small = _small(rows[: plane.height, : plane.width], size, half=n > 0)
        if not full:
            small = STRETCH_COLOUR[small] if n else STRETCH[small]
        planes.append(np.ascontiguousarray(np.rot90(small, size.turns)))
    return planes[0], (planes[1], planes[2])


def _small(plane: Grey, size: Size, *, half: bool) -> Grey:
    """A plane at working size, not yet upright; colour at half of it."""
    wide, high = size.working[::-1] if size.turns % 2 else size.working
    wanted = (-(-wide // 2), -(-high // 2)) if half else (wide, high)
    if plane.shape[::-1] == wanted:
        return plane
    return np.asarray(cv2.resize(plane, wanted, interpolation=cv2.INTER_AREA))


def frames(path: Path) -> Iterator[tuple[Size, Frame]]:
    """Yield the frames of a clip, each with how it is shown.

    Raises
    ------
    RecordingError
        A file that is no clip, damage, too many or too large frames, or a change of size.
    """
    size: Size | None = None
    with opened(path, "pictures") as container:
        for frame in islice(raw_frames(container, path.name), MOST_FRAMES):
            now = size_of(frame)
            size = now if size is None else size
            if (now.width, now.height) != (size.width, size.height):
                msg = f"{path.name} changes its size on the way; send the original file"
                raise RecordingError(msg)
            yield size, Frame(frame.time, float(frame.time_base or 0), *upright(frame, size))
