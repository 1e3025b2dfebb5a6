"""Equal pulses: their count, their groups and their period."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tubside.recordings.sound.tones import Tone

UNEVEN = 0.4
"""Relative difference of length up to which two pulses count as equal."""
REST = 1.6
"""A group ends where the next pulse begins this many periods later (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Pulses:
    """Count, pulses in each group, time from one pulse to the next in a group [s], pitch [Hz]."""

    count: int
    groups: tuple[int, ...]
    period_s: float | None
    pitch_hz: float


def equal_lengths(tones: Sequence[Tone]) -> bool:
    """Return whether tones last about equally long."""
    long = np.array([tone.length_s for tone in tones])
    middle = float(np.median(long))
    slack = max(UNEVEN * middle, 0.05)
    return bool(np.mean(np.abs(long - middle) <= slack) >= 0.75)


def divided(tones: Sequence[Tone]) -> list[Tone]:
    """Return the tones with those cut in two that a room's tail has joined.

    A tone that lasts a whole number of periods longer than the others was so many pulses more.
    """
    if len(tones) < 3:
        return list(tones)
    middle = float(np.median([tone.length_s for tone in tones]))
    period = float(np.min(np.diff([tone.start_s for tone in tones])))
    out: list[Tone] = []
    for tone in tones:
        more = (tone.length_s - middle) / period
        times = round(more) + 1 if abs(more - round(more)) < 0.25 else 1
        for k in range(max(1, times)):
            start = tone.start_s + k * period
            out.append(
                Tone(start, start + middle, tone.pitch_hz, tone.power, tone.falls_db, tone.with_hz)
                if times > 1
                else tone
            )
    return out


def pulses_of(tones: Sequence[Tone]) -> Pulses:
    """Return count, groups and period of pulses in the order they begin.

    The period is the middle one of the shorter times between beginnings; where the next
    pulse comes much later, a new group begins.

    Examples
    --------
    >>> starts = (0.0, 0.25, 1.0, 1.25, 2.0, 2.25)
    >>> pulses_of([Tone(t, t + 0.1, 2000.0, 1.0) for t in starts])
    Pulses(count=6, groups=(2, 2, 2), period_s=0.25, pitch_hz=2000.0)
    """
    whole = divided(tones)
    pitch = float(np.median([tone.pitch_hz for tone in whole]))
    steps = np.diff([tone.start_s for tone in whole])
    if not len(steps):
        return Pulses(len(whole), (len(whole),), None, round(pitch, 1))
    short = steps[steps <= REST * np.min(steps)]
    period = float(np.median(short))
    ends = np.flatnonzero(steps > REST * period) + 1
    groups = np.diff(np.concatenate([[0], ends, [len(whole)]]))
    return Pulses(len(whole), tuple(int(n) for n in groups), round(period, 4), round(pitch, 1))
