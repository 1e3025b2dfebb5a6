"""Equal pulses: their count, their groups and their period."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tubside.recordings.sound.tones import Tone

UNEVEN = 0.4
"""Relative difference of length up to which two pulses count as equal."""
FEWEST = 4
"""Pulses from which on a train can be called even."""
EVEN = 0.1
"""Relative spread of the times between pulses of an even train."""
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


def usual_length(tones: Sequence[Tone]) -> float | None:
    """Return the length [s] that at least half of the tones have, or none."""
    long = np.array([tone.length_s for tone in tones])
    middle = float(np.median(long))
    alike = np.abs(long - middle) <= UNEVEN * middle
    return middle if len(tones) >= FEWEST and alike.mean() >= 0.5 else None


def mended(tones: Sequence[Tone]) -> list[Tone]:
    """Return tones of one pitch without what a room's echoes made of them.

    Of equal pulses a pair that is one pulse torn by a dip is joined; a scrap that touches a
    pulse, or is much shorter and weaker than the pulses, is dropped. Tones in the order they
    begin; those that are no equal pulses are left alone.
    """
    usual = usual_length(tones)
    if usual is None:
        return list(tones)
    whole: list[Tone] = []
    for tone in tones:
        before = whole[-1] if whole else None
        if before is not None and torn(before, tone, usual):
            whole[-1] = replace(before, end_s=tone.end_s)
        else:
            whole.append(tone)
    power = float(np.median([tone.power for tone in whole]))
    return [
        tone
        for k, tone in enumerate(whole)
        if not is_scrap(tone, whole[max(0, k - 1) : k] + whole[k + 1 : k + 2], usual, power)
    ]


def torn(one: Tone, other: Tone, usual_s: float) -> bool:
    """Return whether two tones are one pulse of the usual length, torn by a dip."""
    gap = other.start_s - one.end_s
    both = other.end_s - one.start_s
    short = max(one.length_s, other.length_s) < 0.85 * usual_s
    return short and gap < min(0.1, 0.25 * usual_s) and abs(both - usual_s) < 0.2 * usual_s


def is_scrap(tone: Tone, beside: Sequence[Tone], usual_s: float, power: float) -> bool:
    """Return whether a tone is a remainder of those before and after it, and no pulse."""
    touches = any(
        tone.start_s < other.end_s + 0.03 and other.start_s < tone.end_s + 0.03
        for other in beside
        if other.length_s > tone.length_s
    )
    weak = tone.power < power / 4 and tone.length_s < 0.5 * usual_s
    return weak or (touches and tone.length_s < 0.4 * usual_s)


def even_train(tones: Sequence[Tone]) -> bool:
    """Return whether tones are four or more equal pulses at even times, as nothing else is.

    Examples
    --------
    >>> even_train([Tone(t, t + 0.1, 2000.0, 1.0) for t in (0.0, 0.25, 1.0, 1.25)])
    True
    >>> even_train([Tone(t, t + 0.1, 2000.0, 1.0) for t in (0.0, 0.25, 0.6, 1.25)])
    False
    """
    return len(tones) >= FEWEST and equal_lengths(tones) and unevenness(tones) < EVEN


def unevenness(tones: Sequence[Tone]) -> float:
    """Return how uneven the times between the beginnings of pulses are: relative spread [1]."""
    steps = np.diff([tone.start_s for tone in tones])
    if len(steps) < 2:
        return 0.0
    short = steps[steps <= REST * steps.min()]
    return float(np.std(short) / np.mean(short)) if len(short) > 1 else 0.0


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
