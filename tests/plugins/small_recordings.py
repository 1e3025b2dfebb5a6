"""Small recordings made on the spot: a panel of lamps as a clip, a beeping sound, a shake log.

Nothing here knows how a recording is read.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

Bytes = NDArray[np.uint8]
WIDTH, HEIGHT, RATE = 320, 180, 30
CODECS = {"mp4": "libx264", "webm": "libvpx-vp9", "avi": "mjpeg", "mov": "libx264"}
SOUND_CODECS = {"wav": "pcm_s16le", "ogg": "libopus", "mp3": "mp3", "m4a": "aac"}
FORMATS = {"m4a": "mp4", "webm": "webm"}
Lamps = Mapping[tuple[int, int], Callable[[float], bool]]


def off(_time_s: float) -> bool:
    """A lamp that stays dark."""
    return False


def steady(_time_s: float) -> bool:
    """A lamp that stays lit."""
    return True


def flashing(time_s: float) -> bool:
    """A lamp that is lit for the first half of each second."""
    return time_s % 1.0 < 0.5


RING = {
    "1": (160, 42),
    "2": (202, 66),
    "3": (202, 114),
    "4": (160, 138),
    "5": (118, 114),
    "6": (118, 66),
}
"""Lamp -> where it is in the picture [pixels]."""
THREE: Lamps = {(80, 90): steady, (160, 90): flashing, (240, 90): off}


def ring_clip(path: Path, *, seconds: float = 5.0) -> Path:
    """A clip of the demo's front-loader: of six lamps on a ring, 3 flashes and 6 is steady."""
    shown = [off, off, lambda t: t % 1.1 < 0.55, off, off, steady]
    return write_clip(path, dict(zip(RING.values(), shown, strict=True)), seconds=seconds)


def panel_picture(lamps: Lamps, time_s: float, size: tuple[int, int] = (WIDTH, HEIGHT)) -> Bytes:
    """A textured panel with round lamps, as red, green and blue."""
    width, height = size
    rows, columns = np.indices((height, width))
    grain = np.random.default_rng(7).normal(0.0, 6.0, (height, width))
    grey = 70.0 + 25.0 * np.sin(columns / 13.0) * np.cos(rows / 9.0) + grain
    grey[20:40, 30:120] += 50.0
    picture = np.repeat(grey[..., None], 3, axis=2)
    for (x, y), lit in lamps.items():
        apart = np.hypot(columns - x, rows - y)
        glow = np.clip(8.0 - apart, 0.0, 1.0) * (150.0 if lit(time_s) else -20.0)
        picture += glow[..., None] * np.array([1.0, 0.75, 0.2])
    return np.clip(picture, 0, 255).astype(np.uint8)


def write_clip(
    path: Path, lamps: Lamps = THREE, *, seconds: float = 3.0, sound: bool = False
) -> Path:
    """A clip of a still panel, held by a hand that does not shake."""
    kind = path.suffix[1:]
    with av.open(str(path), "w", format=FORMATS.get(kind, kind)) as out:
        video = out.add_stream(CODECS[kind], rate=RATE)
        assert isinstance(video, av.VideoStream)
        video.width, video.height = WIDTH, HEIGHT
        video.pix_fmt = "yuvj420p" if kind == "avi" else "yuv420p"
        audio = out.add_stream("aac", rate=44_100) if sound else None
        for number in range(round(seconds * RATE)):
            frame = av.VideoFrame.from_ndarray(panel_picture(lamps, number / RATE))
            frame.pts, frame.time_base = number, Fraction(1, RATE)
            out.mux(video.encode(frame))
        out.mux(video.encode())
        if audio is not None:
            _put_sound(out, audio, seconds)
    return path


def write_sound(path: Path, *, seconds: float = 2.0) -> Path:
    """Three beeps a second apart, or as many as there is time for."""
    kind = path.suffix[1:]
    rate = 48_000 if kind == "ogg" else 44_100
    with av.open(str(path), "w", format=FORMATS.get(kind, kind)) as out:
        audio = out.add_stream(SOUND_CODECS[kind], rate=rate)
        assert isinstance(audio, av.AudioStream)
        _put_sound(out, audio, seconds)
    return path


def _put_sound(out: av.container.OutputContainer, stream: av.AudioStream, seconds: float) -> None:
    rate = stream.rate
    times = np.arange(round(seconds * rate)) / rate
    wave = np.where(times % 1.0 < 0.2, np.sin(2 * np.pi * 1000.0 * times), 0.0)
    samples = np.round(8000.0 * wave).astype(np.int16)[None, :]
    frame = av.AudioFrame.from_ndarray(samples, format="s16", layout="mono")
    frame.sample_rate, frame.pts = rate, 0
    out.mux(stream.encode(frame))
    out.mux(stream.encode())


def write_log(path: Path, *, seconds: float = 3.0) -> Path:
    """A ring-down of 3 bounces a second, as a phone's accelerometer logs it."""
    times = np.arange(round(seconds * 100)) / 100
    bounce = 3.0 * np.exp(-1.5 * times) * np.sin(2 * np.pi * 3.0 * times)
    lines = [f"{t:.3f},{0.01:.4f},{b:.4f},{9.81:.4f}" for t, b in zip(times, bounce, strict=True)]
    path.write_text("time,x,y,z\n" + "\n".join(lines) + "\n", encoding="ascii")
    return path
