"""Filmed pictures written as clips, by several encoders and by a second program."""

from __future__ import annotations

import subprocess
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from importlib import import_module
from pathlib import Path
from typing import cast

import av
import numpy as np
from numpy.typing import NDArray

Picture = NDArray[np.uint8]
TICKS = 90_000
SUFFIX = {"libx264": ".mp4", "libx265": ".mp4", "libvpx-vp9": ".webm", "mjpeg": ".mkv"}
OPTIONS: Mapping[str, Mapping[str, str]] = {
    "libx264": {"preset": "veryfast", "crf": "24"},
    "libx265": {"preset": "ultrafast", "crf": "26", "x265-params": "log-level=error"},
    "libvpx-vp9": {"deadline": "realtime", "cpu-used": "8", "crf": "33", "b:v": "0"},
    "mjpeg": {"q:v": "4"},
}


def write_clip(
    path: Path,
    pictures: Iterable[Picture],
    times_s: Sequence[float] | NDArray[np.float64],
    codec: str = "libx264",
    *,
    rotation: int = 0,
    tone_hz: float | None = None,
) -> Path:
    """Write RGB pictures with their own times; ``tone_hz`` adds a sound track."""
    with av.open(str(path), "w") as out:
        stream: av.VideoStream | None = None
        sound = out.add_stream("aac", rate=48_000) if tone_hz else None
        for picture, time_s in zip(pictures, times_s, strict=True):
            frame = av.VideoFrame.from_ndarray(picture, format="rgb24")
            stream = stream or _stream(out, codec, frame, rotation)
            frame.pts, frame.time_base = round(time_s * TICKS), Fraction(1, TICKS)
            out.mux(stream.encode(frame))
        assert stream is not None
        out.mux(stream.encode(None))
        if sound is not None and tone_hz is not None:
            _add_tone(out, sound, tone_hz, float(times_s[-1]))
    return path


def _stream(
    out: av.container.OutputContainer, codec: str, frame: av.VideoFrame, rotation: int
) -> av.VideoStream:
    stream = cast("av.VideoStream", out.add_stream(codec, rate=30, options=dict(OPTIONS[codec])))
    stream.width, stream.height = frame.width, frame.height
    stream.pix_fmt = "yuvj420p" if codec == "mjpeg" else "yuv420p"
    stream.codec_context.time_base = Fraction(1, TICKS)
    stream.time_base = Fraction(1, TICKS)
    if rotation:
        stream.set_display_rotation(rotation)
    return stream


def _add_tone(
    out: av.container.OutputContainer, sound: av.AudioStream, tone_hz: float, length_s: float
) -> None:
    rate = 48_000
    wave = 0.3 * np.sin(2 * np.pi * tone_hz * np.arange(int(rate * length_s)) / rate)
    for start in range(0, len(wave), 1024):
        part = wave[None, start : start + 1024].astype(np.float32)
        frame = av.AudioFrame.from_ndarray(part, format="fltp", layout="mono")
        frame.sample_rate, frame.pts = rate, start
        frame.time_base = Fraction(1, rate)
        out.mux(sound.encode(frame))
    out.mux(sound.encode(None))


def second_program(source: Path, out: Path, *options: str, before: Sequence[str] = ()) -> Path:
    """Write a clip again by the static program: other builds, or a second generation.

    ``before`` are options for how the source is read.
    """
    program = import_module("imageio_ffmpeg").get_ffmpeg_exe()
    order = [program, "-v", "error", "-y", *before, "-i", str(source), *options]
    subprocess.run([*order, "-fps_mode", "passthrough", str(out)], check=True, timeout=300)
    return out
