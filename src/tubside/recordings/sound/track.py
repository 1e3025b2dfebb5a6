"""The sound of a recording as one row of numbers: decoded piece by piece, mono, one rate."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from tubside.errors import RecordingError
from tubside.recordings.opening import opened

if TYPE_CHECKING:
    from av.container import InputContainer

Samples = NDArray[np.float32]

RATE_HZ = 16_000
"""Buzzers, speech, drums and pumps are told apart below 8 kHz (common practice, no source)."""
SHORTEST_S = 0.2
LONGEST_S = 300.0


@dataclass(frozen=True, slots=True)
class Track:
    """A mono sound: samples (N,) between about -1 and 1, and their rate [Hz].

    ``cut`` says that the recording went on after the last sample kept.
    """

    samples: Samples
    rate_hz: int = RATE_HZ
    cut: bool = False

    @property
    def length_s(self) -> float:
        """Length [s]."""
        return len(self.samples) / self.rate_hz


def read_track(path: Path, longest_s: float = LONGEST_S) -> Track:
    """Return the first sound track of a file, at most ``longest_s`` of it.

    Any container and codec that the decoder knows will do: m4a, ogg, wav, mp3, a clip. Frames
    are decoded, mixed to mono and resampled one by one, so memory grows with what is kept only.

    Raises
    ------
    RecordingError
        The file is no recording, has no sound, is too short, or all of it is silent.
    """
    if find_spec("av") is None:
        msg = "recordings need more packages; install them with: pip install 'tubside[recordings]'"
        raise RecordingError(msg)
    from av.error import FFmpegError  # noqa: PLC0415  # heavy, and an extra

    most = round(longest_s * RATE_HZ)
    try:
        pieces, kept = _gathered(path, most)
    except (FFmpegError, OSError, ValueError) as wrong:
        msg = f"{path.name}: cannot be read as a recording; give m4a, ogg, wav, mp3 or a clip"
        raise RecordingError(msg) from wrong
    if kept < SHORTEST_S * RATE_HZ:
        msg = f"{path.name}: holds no fifth of a second of sound; record ten seconds"
        raise RecordingError(msg)
    samples = np.concatenate(pieces)[:most]
    if not np.isfinite(samples).all() or not np.any(samples):
        msg = f"{path.name}: the sound track is empty; check the microphone and record again"
        raise RecordingError(msg)
    return Track(samples, cut=kept > most)


def _gathered(path: Path, most: int) -> tuple[list[Samples], int]:
    """Return pieces of sound up to one more than ``most`` samples, and how many there are."""
    pieces: list[Samples] = []
    kept = 0
    with opened(path, "sound") as box:
        for piece in _pieces(box):
            pieces.append(piece)
            kept += len(piece)
            if kept > most:
                break
    return pieces, kept


def _pieces(box: InputContainer) -> Iterator[Samples]:
    """Yield mono pieces at the one rate; a damaged packet is left out, as a player does."""
    from av import AudioResampler  # noqa: PLC0415  # heavy, and an extra
    from av.error import InvalidDataError  # noqa: PLC0415  # the same

    mono = AudioResampler(format="flt", layout="mono", rate=RATE_HZ)
    for packet in box.demux(box.streams.audio[0]):
        try:
            frames = packet.decode()
        except InvalidDataError:
            continue
        for frame in frames:
            for out in mono.resample(frame):
                yield out.to_ndarray()[0].astype(np.float32)
    for out in mono.resample(None):
        yield out.to_ndarray()[0].astype(np.float32)
