"""What a sound tells, as JSON: notes, pulses, both, a steady tone, or nothing."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import msgspec

from tubside.errors import RecordingError
from tubside.recordings.sound.told import ToldSound, read_sound
from tubside.recordings.sound.track import read_track

LONGEST_S = 120.0
"""A message and its repeat are over by then (common practice, no source)."""


class NoteTold(msgspec.Struct, frozen=True):
    """One note: when it begins, how long it lasts, its pitch."""

    start_s: float
    length_s: float
    pitch_hz: float


class PulsesTold(msgspec.Struct, frozen=True):
    """Equal pulses: how many, how many in each group, from one to the next, their pitch."""

    count: int
    groups: list[int]
    period_s: float | None
    pitch_hz: float


class SoundAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """All that is told of a sound; ``probability`` are likelihoods under a flat prior.

    ``kind`` is one of notes, pulses, mixed (notes and then pulses), steady, none; ``pitch_hz``
    is that of a steady tone.
    """

    kind: str
    probability: dict[str, float]
    notes: list[NoteTold] = []
    pulses: PulsesTold | None = None
    pitch_hz: float | None = None
    advice: list[str] = []
    length_s: float = 0.0


class Options(msgspec.Struct, frozen=True):
    """``longest_s`` is how much is read from the beginning [s]."""

    longest_s: float = LONGEST_S


def answer(paths: Sequence[Path], options: bytes) -> bytes:
    """Read one recording and tell what is heard; JSON in, JSON out.

    Raises
    ------
    RecordingError
        Saying what is wrong with the file.
    """
    if len(paths) != 1:
        msg = "one sound is read at a time"
        raise RecordingError(msg)
    wanted = msgspec.json.decode(options or b"{}", type=Options)
    track = read_track(paths[0], min(max(wanted.longest_s, 1.0), LONGEST_S))
    return msgspec.json.encode(as_answer(read_sound(track), track.length_s))


def as_answer(told: ToldSound, length_s: float) -> SoundAnswer:
    """Return a told sound in the shape of the JSON."""
    beeps = told.pulses
    return SoundAnswer(
        kind=told.kind,
        probability=told.probability,
        notes=[NoteTold(one.start_s, one.length_s, one.pitch_hz) for one in told.notes],
        pulses=None
        if beeps is None
        else PulsesTold(beeps.count, list(beeps.groups), beeps.period_s, beeps.pitch_hz),
        pitch_hz=told.pitch_hz,
        advice=list(told.advice),
        length_s=round(length_s, 2),
    )
