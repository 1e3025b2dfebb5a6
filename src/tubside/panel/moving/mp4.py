"""A loop as an MP4 that any phone plays: H.264 with exact times, and the sound as AAC.

Every change of a lamp falls on a frame of its own, to 1/90000 s; between changes frames
are spread evenly, none longer than 1/25 s, for players that dislike long ones.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from importlib.util import find_spec
from math import ceil
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from tubside.errors import RecordingError
from tubside.panel.lights import Sound
from tubside.panel.moving.pictures import Pictures
from tubside.panel.moving.tune import MADE_UP, RATE, tune_of

if TYPE_CHECKING:
    from av.container import OutputContainer
    from av.video.frame import VideoFrame

Ticks = NDArray[np.int64]
TICK = Fraction(1, 90_000)
"""The time base of pictures [s]."""
LONGEST_FRAME_S = 1 / 25
AT_LEAST_S = 12.0
"""A clip lasts whole rounds, and no less than this, so that it can be watched once."""
SETTINGS = {"preset": "veryfast", "crf": "18", "bf": "0", "threads": "1"}
COLOURS = {"color_range": 1, "colorspace": 1, "color_primaries": 1, "color_trc": 1}
"""Video range and ITU-R BT.709 throughout (codes of ITU-T H.273)."""


def need_clip_maker() -> None:
    """Refuse to go on without the package that writes clips.

    Raises
    ------
    RecordingError
        Saying what to install.
    """
    if find_spec("av") is None:
        msg = (
            "an MP4 needs the package av; install it with: pip install 'tubside[recordings]', "
            "or take --gif"
        )
        raise RecordingError(msg)


@dataclass(frozen=True, slots=True)
class Timed:
    """Frames of a clip: when each begins, which picture it is, and when the last ends.

    ``starts`` and ``which`` have the shape (frames,), times in ticks of 1/90000 s.
    """

    starts: Ticks
    which: NDArray[np.intp]
    end: int


def timed(pictures: Pictures, at_least_s: float = AT_LEAST_S) -> Timed:
    """The frames of as many whole rounds as last ``at_least_s``."""
    loop = pictures.loop
    rounds = max(1, ceil(at_least_s / loop.length_s - 1e-6))
    begun = (np.arange(rounds)[:, None] * loop.length_s + loop.starts_s).ravel()
    changes = np.append(begun, rounds * loop.length_s)
    ticks = np.rint(changes / float(TICK)).astype(np.int64)
    parts = np.ceil(np.diff(changes) / LONGEST_FRAME_S - 1e-6).astype(np.int64)
    starts = [
        first + (last - first) * np.arange(count) // count
        for first, last, count in zip(ticks[:-1], ticks[1:], parts, strict=True)
    ]
    which = np.repeat(np.tile(pictures.which, rounds), parts)
    return Timed(np.concatenate(starts), which, int(ticks[-1]))


def mp4_of(pictures: Pictures, sound: Sound = "none", at_least_s: float = AT_LEAST_S) -> bytes:
    """The loop as an MP4 with its sound; its data tell the true and the drawn rate.

    Raises
    ------
    RecordingError
        When the package for clips is missing.
    """
    need_clip_maker()
    import av  # noqa: PLC0415  # of the extra "recordings", after the check for it

    frames = timed(pictures, at_least_s)
    heard = "" if sound == "none" else f"; {MADE_UP}"
    with TemporaryDirectory() as folder:  # the index is put first by reading the file again
        made = Path(folder, "clip.mp4")
        with av.open(str(made), "w", options={"movflags": "+faststart"}) as clip:
            clip.metadata["title"] = pictures.title
            clip.metadata["comment"] = pictures.told + heard
            _write(clip, pictures, frames, sound)
        return made.read_bytes()


def _write(clip: OutputContainer, pictures: Pictures, frames: Timed, sound: Sound) -> None:
    rows, columns = pictures.pictures.shape[1:3]
    video: Any = clip.add_stream("libx264", rate=25, options=dict(SETTINGS))
    video.width, video.height, video.pix_fmt = columns, rows, "yuv420p"
    video.time_base = video.codec_context.time_base = TICK
    for name, code in COLOURS.items():
        setattr(video.codec_context, name, code)
    audio: Any = None if sound == "none" else clip.add_stream("aac", rate=RATE, layout="mono")
    ends = np.append(frames.starts[1:], frames.end)
    lasting = dict(zip(frames.starts.tolist(), (ends - frames.starts).tolist(), strict=True))
    drawn = [_frame(one) for one in pictures.pictures]
    for start, which in zip(frames.starts.tolist(), frames.which.tolist(), strict=True):
        frame = drawn[which]
        frame.pts, frame.time_base = start, TICK
        _mux(clip, video.encode(frame), lasting)
    _mux(clip, video.encode(None), lasting)
    if audio is not None:
        _write_sound(clip, audio, tune_of(sound, frames.end * float(TICK)))


def _mux(clip: OutputContainer, packets: Sequence[Any], lasting: dict[int, int]) -> None:
    """Write packets, each told how long it lasts: nothing else says so of the last one."""
    for packet in packets:
        packet.duration = lasting[packet.pts]
        clip.mux(packet)


def _frame(pixels: NDArray[np.uint8]) -> VideoFrame:
    from av import VideoFrame  # noqa: PLC0415  # of the extra "recordings"

    whole = VideoFrame.from_ndarray(np.ascontiguousarray(pixels), format="rgb24")
    return whole.reformat(format="yuv420p", dst_colorspace="ITU709", dst_color_range="MPEG")


def _write_sound(clip: OutputContainer, audio: Any, samples: NDArray[np.float32]) -> None:  # noqa: ANN401  # the package's own class is not typed
    from av import AudioFrame  # noqa: PLC0415  # of the extra "recordings"

    for first in range(0, len(samples), 1024):
        frame = AudioFrame.from_ndarray(samples[None, first : first + 1024], "fltp", "mono")
        frame.sample_rate, frame.pts, frame.time_base = RATE, first, Fraction(1, RATE)
        clip.mux(audio.encode(frame))
    clip.mux(audio.encode(None))
