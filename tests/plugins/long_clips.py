"""A minute of a panel at any size, made of four filmed seconds that follow on themselves."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np

from drawn_clips import even
from encoded_clips import second_program, write_clip
from filmed_clips import Camera, FilmedLamp, filmed
from small_clips import small_lamps

LENGTH_S, TIMES = 4.0, 15
PERIOD_S = 0.8
"""Goes into four seconds five times, so that the flash runs on from one round to the next."""
CAMERA = Camera(
    width=960,
    height=540,
    length_s=LENGTH_S,
    exposure_s=1 / 90,
    multiplex_hz=250.0,
    share=1 / 6,
    shake=5.0,
    lean=0.4,
    zoom=0.01,
    noise=0.012,
    gain_steps=0,
)


@dataclass(frozen=True, slots=True)
class Minute:
    """A file of a minute, taps in its own pixels, and the state of each lamp."""

    path: Path
    taps: dict[str, tuple[float, float]]
    states: tuple[str, ...]


def _large_lamps() -> tuple[FilmedLamp, ...]:
    grown = CAMERA.width / 256
    lamps = []
    for lamp in small_lamps():
        at = (lamp.at[0] * grown, lamp.at[1] * grown)
        begin = lamp.spans[0, 0] % PERIOD_S if lamp.state == "flashing" else 0.0
        spans = even(PERIOD_S, 0.5, begin, 2 * LENGTH_S) if lamp.period_s else lamp.spans
        lamps.append(replace(lamp, at=at, radius=lamp.radius * grown, spans=spans))
    return tuple(lamps)


def minute_of(folder: Path, wide: int) -> Minute:
    """Return a minute at 30 frames a second, so many pixels wide: filmed at 960, enlarged."""
    clip = filmed(np.random.default_rng(23), CAMERA, _large_lamps())
    grown = wide / CAMERA.width
    size = wide, round(CAMERA.height * grown)
    large = (
        np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_CUBIC), np.uint8)
        for picture in clip.pictures
    )
    times = np.arange(len(clip.pictures)) / CAMERA.fps
    short = write_clip(folder / f"short-{wide}.mp4", large, times)
    again = ("-stream_loop", str(TIMES - 1))
    path = second_program(short, folder / f"minute-{wide}.mp4", "-c", "copy", before=again)
    taps = {
        name: (grown * (x + 0.5) - 0.5, grown * (y + 0.5) - 0.5)
        for name, (x, y) in clip.taps.items()
    }
    return Minute(path, taps, tuple(lamp.state for lamp in clip.lamps))
