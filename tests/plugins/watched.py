"""Moving pictures watched as a phone would: brightness at the lamps' places, by true time."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO

import av
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageSequence

from tubside.panel.drawing import MARGIN
from tubside.panel.moving.pictures import lamp_pixels
from tubside.panel.schema import Panel
from tubside.recordings.lamp_series import LampSeries

Floats = NDArray[np.float64]
Frame = tuple[float, float, NDArray[np.uint8]]
"""When it begins, how long it stands [s], and its pixels (rows, columns, 3)."""
TWICE_S = 24.0
"""Enough to see whole groups of blinks with a gap on both sides."""


def mp4_frames(content: bytes) -> Iterator[Frame]:
    """Yield the frames of an MP4 with its own times."""
    with av.open(BytesIO(content), "r") as clip:
        for frame in clip.decode(video=0):
            assert frame.pts is not None
            assert frame.time_base is not None
            base = float(frame.time_base)
            pixels = frame.to_ndarray(format="rgb24").astype(np.uint8)
            yield frame.pts * base, frame.duration * base, pixels


def gif_frames(content: bytes) -> Iterator[Frame]:
    """Yield the frames of a GIF by its delays."""
    begun = 0.0
    with Image.open(BytesIO(content)) as opened:
        for frame in ImageSequence.Iterator(opened):
            lasting = frame.info.get("duration", 0) / 1000
            yield begun, lasting, np.asarray(frame.convert("RGB"), np.uint8)
            begun += lasting


def amber(pixels: NDArray[np.uint8], x: float, y: float, half: float) -> float:
    """How amber a small square is, 0 to 1: red beyond blue, of which grey has none."""
    rows = slice(max(int(y - half), 0), int(y + half) + 1)
    columns = slice(max(int(x - half), 0), int(x + half) + 1)
    square = pixels[rows, columns].astype(np.float64)
    return float((square[..., 0] - square[..., 2]).mean() / 255)


def watched(panel: Panel, frames: list[Frame]) -> tuple[Floats, Floats, float]:
    """Return when frames begin, amber by lamp and frame, and when the last one ends."""
    width = frames[0][2].shape[1]
    at = [lamp_pixels(panel, lamp, width) for lamp in panel.lamps]
    scale = width / (panel.drawing.front.width + 2 * MARGIN)
    half = [0.2 * lamp.size * scale for lamp in panel.lamps.values()]
    seen = [
        [amber(pixels, x, y, side) for _, _, pixels in frames]
        for (x, y), side in zip(at, half, strict=True)
    ]
    begun = np.array([start for start, _, _ in frames])
    return begun, np.array(seen), frames[-1][0] + frames[-1][1]


def series_of(panel: Panel, frames: list[Frame], rate_hz: float = 25.0) -> LampSeries:
    """Return what a camera in front of the endlessly played picture sees.

    A clip is sampled at an even rate, over as many rounds as last long enough.
    """
    begun, seen, end = watched(panel, frames)
    length = TWICE_S if end < TWICE_S else 2 * end
    times = np.arange(0, length, 1 / rate_hz) + 0.003
    shown = np.searchsorted(begun, times % end, side="right") - 1
    lamps = len(panel.lamps)
    return LampSeries(tuple(panel.lamps), times, seen[:, shown], np.zeros(lamps))
