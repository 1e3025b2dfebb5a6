"""Equal pulses: their count, their groups and their period."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tubside.recordings.sound.tones import Tone

UNEVEN = 0.4
"""Relative difference of length up to which two pulses count as equal."""
LIKE = 0.2
TORN_S, TORN_PART = 0.1, 0.85
"""A dip of a room's echoes in a pulse is no longer, and neither part is nearly all of it."""
CLOSE = 0.75
JOINT = 0.4
"""Cost of a joint, that of a tone unlike the others being one."""
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


def rejoined(tones: Sequence[Tone], usual_s: float) -> list[Tone]:
    """Return tones with pieces joined that make up one of the usual length [s] together."""
    whole: list[Tone] = []
    for tone in tones:
        before = whole[-1] if whole else None
        if before is not None and torn(before, tone, usual_s):
            whole[-1] = replace(
                before,
                end_s=max(before.end_s, tone.end_s),
                power=max(before.power, tone.power),
                with_hz=tuple(sorted({*before.with_hz, *tone.with_hz})),
            )
        else:
            whole.append(tone)
    return whole


def usual_length(tones: Sequence[Tone]) -> float | None:
    """Return the length [s] that most pulses have, torn ones joined; none if they are unequal.

    Lengths of single tones and of neighbours together are tried. What differs costs up to one a
    tone, and every joint less, so that pulses that are whole stay apart.

    Examples
    --------
    Three pulses, two of them torn after their beginning, and four whole ones:

    >>> torn_ones = [(0.0, 0.06), (0.1, 0.55), (1.3, 1.86), (2.6, 2.67), (2.72, 3.16)]
    >>> round(usual_length([Tone(a, b, 700.0, 1.0) for a, b in torn_ones]), 2)
    0.56
    >>> usual_length([Tone(0.2 * k, 0.2 * k + 0.1, 700.0, 1.0) for k in range(4)])
    0.1
    """
    if len(tones) < FEWEST:
        return None
    spans = [tone.length_s for tone in tones]
    for many in (1, 2):
        spans += [
            b.end_s - a.start_s
            for a, b in zip(tones, tones[many:], strict=False)
            if b.start_s - a.end_s < (many + 1) * TORN_S
        ]
    costs = []
    for usual in spans:
        whole = rejoined(tones, usual)
        off = np.array([abs(tone.length_s / usual - 1) / LIKE for tone in whole])
        cost = np.minimum(off**2, 1).sum() + JOINT * (len(tones) - len(whole))
        costs.append(cost if np.sum(off <= 1) >= max(2, len(whole) / 2) else np.inf)
    best = int(np.argmin(costs))
    return spans[best] if np.isfinite(costs[best]) else None


def mended(tones: Sequence[Tone]) -> list[Tone]:
    """Return tones of one pitch without what a room's echoes made of them.

    Of equal pulses, pieces that are one pulse torn by a dip are joined; a scrap that touches a
    pulse, or is much shorter and weaker than the pulses, is dropped. Tones in the order they
    begin; those that are no equal pulses are left alone.
    """
    usual = usual_length(tones)
    if usual is None:
        return list(tones)
    whole = rejoined(tones, usual)
    power = float(np.median([tone.power for tone in whole]))
    close = CLOSE * usual_step(whole, usual)
    return [
        tone
        for k, tone in enumerate(whole)
        if not is_scrap(tone, whole[max(0, k - 1) : k] + whole[k + 1 : k + 2], usual, power)
        and not is_crowded(tone, whole, usual, close)
    ]


def usual_step(tones: Sequence[Tone], usual_s: float) -> float:
    """Return the time [s] from one pulse of about the usual length to the next; 0 if unknown."""
    starts = [t.start_s for t in tones if abs(t.length_s / usual_s - 1) < UNEVEN]
    steps = np.diff(starts)
    return float(np.median(steps[steps <= REST * steps.min()])) if len(steps) > 1 else 0.0


def is_crowded(tone: Tone, tones: Sequence[Tone], usual_s: float, close_s: float) -> bool:
    """Return whether a short tone begins nearer to a pulse of the usual length than pulses do."""
    near = any(
        abs(other.start_s - tone.start_s) < close_s and other.length_s > 0.7 * usual_s
        for other in tones
        if other is not tone
    )
    return near and tone.length_s < 0.6 * usual_s


def torn(one: Tone, other: Tone, usual_s: float) -> bool:
    """Return whether two tones are one pulse of about the usual length, torn by a dip."""
    gap = other.start_s - one.end_s
    both = other.end_s - one.start_s
    short = max(one.length_s, other.length_s) < TORN_PART * usual_s
    return short and gap < min(TORN_S, 0.3 * usual_s) and both < (1 + LIKE) * usual_s


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
