"""Spin speed, pump and the trend of the bearings, as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import msgspec
import numpy as np

from tubside.errors import RecordingError
from tubside.recordings.sound.pump_sound import read_pump
from tubside.recordings.sound.roughness import Trend, compared
from tubside.recordings.sound.track import Track, read_track
from tubside.recordings.sound.turning import Spin, read_spin

LONGEST_S = 180.0
MOST_POINTS = 400
SURE = 0.8
AGAIN = (
    "No steady spin is surely heard: lay the phone on the cabinet or hold it close, and record"
    " twenty seconds of the fast spin."
)
OTHER = "It may be {rpm:.0f} rpm as well; compare with the speed that was set, or with a shake log."
SPEEDS = "The speeds of the two recordings differ or are not known: record both at the same spin."


class Point(msgspec.Struct, frozen=True):
    """Speed at one time."""

    time_s: float
    rpm: float


class RunUpTold(msgspec.Struct, frozen=True):
    """A rise of the speed."""

    from_rpm: float
    to_rpm: float
    start_s: float
    end_s: float


class PumpTold(msgspec.Struct, frozen=True):
    """What a pump does: likelihoods under a flat prior, and the changes they rest on [dB]."""

    state: str
    probability: dict[str, float]
    change_s: float | None
    lines_db: float
    broad_db: float
    gulps_db: float


class BearingTold(msgspec.Struct, frozen=True):
    """A trend between two recordings: changes with 90 % intervals [dB]."""

    trend: str
    hiss_db: float | None
    hiss_interval: list[float] | None
    peaks_db: float | None
    peaks_interval: list[float] | None


class SpinAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """All that is told of a spin.

    ``rpm`` is the speed of the longest steady stretch and ``interval`` its 90 % interval, null
    where none is heard; ``probability`` is the chance that it is within 1 % and not another
    speed, ``other_rpm`` the next likely; ``course`` holds the speed through time.
    """

    rpm: float | None = None
    interval: list[float] | None = None
    probability: float = 0.0
    other_rpm: float | None = None
    steady_s: list[float] | None = None
    course: list[Point] = []
    run_up: RunUpTold | None = None
    pump: PumpTold | None = None
    bearing: BearingTold | None = None
    advice: list[str] = []
    length_s: float = 0.0


def answer(paths: Sequence[Path], options: bytes) -> bytes:
    """Read one recording, or one and an earlier one of the same machine; JSON in, JSON out.

    Raises
    ------
    RecordingError
        Saying what is wrong with a file.
    """
    del options  # none yet
    if len(paths) not in {1, 2}:
        msg = "a spin is read from one recording, or from one and an earlier one"
        raise RecordingError(msg)
    tracks = [read_track(path, LONGEST_S) for path in paths]
    spins = [read_spin(track) for track in tracks]
    bearing = None
    if len(tracks) == 2:
        now, before = (
            (track, spin.rpm, spin.steady_s) for track, spin in zip(tracks, spins, strict=True)
        )
        bearing = compared(now, before)
    return msgspec.json.encode(as_answer(tracks[0], spins[0], bearing))


def as_answer(track: Track, spin: Spin, bearing: Trend | None) -> SpinAnswer:
    """Return what was read in the shape of the JSON."""
    sure = spin.rpm is not None and spin.probability >= SURE
    advice = [] if sure else [AGAIN]
    if spin.other_rpm is not None:
        advice.append(OTHER.format(rpm=spin.other_rpm))
    if bearing is not None and bearing.hiss_db is None:
        advice.append(SPEEDS)
    pump = read_pump(track)
    return SpinAnswer(
        rpm=None if spin.rpm is None else round(spin.rpm, 1),
        interval=None if spin.interval is None else [round(end, 1) for end in spin.interval],
        probability=round(spin.probability, 4),
        other_rpm=None if spin.other_rpm is None else round(spin.other_rpm, 1),
        steady_s=None if spin.steady_s is None else [round(end, 2) for end in spin.steady_s],
        course=_points(spin),
        run_up=None
        if spin.run_up is None
        else msgspec.convert(spin.run_up, RunUpTold, from_attributes=True),
        pump=None if pump is None else msgspec.convert(pump, PumpTold, from_attributes=True),
        bearing=None
        if bearing is None
        else msgspec.convert(bearing, BearingTold, from_attributes=True),
        advice=advice,
        length_s=round(track.length_s, 2),
    )


def _points(spin: Spin) -> list[Point]:
    if spin.course is None:
        return []
    count = len(spin.course.times_s)
    kept = np.unique(np.linspace(0, count - 1, min(count, MOST_POINTS)).round().astype(int))
    return [
        Point(round(float(spin.course.times_s[k]), 2), round(float(spin.course.rpm[k]), 1))
        for k in kept
    ]
