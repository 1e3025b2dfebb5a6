"""One small filmed clip for many tests: four lamps, strobing, held by hand."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from drawn_clips import even
from encoded_clips import write_clip
from filmed_clips import COLOURS, Camera, Filmed, FilmedLamp, filmed

CAMERA = Camera(
    width=256,
    height=144,
    length_s=4.0,
    exposure_s=1 / 250,
    multiplex_hz=173.0,
    share=1 / 6,
    shake=2.0,
    lean=1.0,
    zoom=0.02,
    noise=0.008,
    gain_steps=1,
)
STATES = ("off", "steady", "flashing", "flashing")
PERIOD_S = 0.8


def small_lamps() -> tuple[FilmedLamp, ...]:
    """Return four lamps in a row: off, steady, and two that flash in turn."""
    spans: tuple[NDArray[np.float64], ...] = (
        np.empty((0, 2)),
        np.array([[0.0, 9.0]]),
        even(PERIOD_S, 0.5, 0.1, 8.0),
        even(PERIOD_S, 0.5, 0.1 + PERIOD_S / 2, 8.0),
    )
    return tuple(
        FilmedLamp(
            state=state,
            at=(50.0 + 50 * k, 60.0),
            radius=4.5,
            colour=COLOURS[0],
            level=0.9,
            slot=0.23 * k,
            spans=lit,
            period_s=PERIOD_S if state == "flashing" else None,
        )
        for k, (state, lit) in enumerate(zip(STATES, spans, strict=True))
    )


@cache
def small_clip() -> Filmed:
    """Return the clip as pictures with its truth."""
    return filmed(np.random.default_rng(11), CAMERA, small_lamps())


@dataclass(frozen=True, slots=True)
class OnDisk:
    """The clip as a file, and its truth."""

    path: Path
    truth: Filmed


def on_disk(folder: Path, codec: str = "libx264", suffix: str = ".mp4") -> OnDisk:
    """Return the clip written as a file with a sound track."""
    clip = small_clip()
    tone = None if codec in {"mjpeg", "libvpx-vp9"} else 440.0
    path = folder / f"{codec}{suffix}"
    return OnDisk(write_clip(path, clip.pictures, clip.times_s, codec, tone_hz=tone), clip)
