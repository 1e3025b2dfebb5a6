"""What a sound tells: notes, pulses, both, one steady tone, or nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tubside.recordings.sound.hum import without_hum
from tubside.recordings.sound.kept_pitch import leaving
from tubside.recordings.sound.partials import WINDOW_S, Partial, Picture, partials, picture
from tubside.recordings.sound.pulse_groups import equal_lengths, even_train, mended
from tubside.recordings.sound.tones import (
    CLEAR_DB,
    LASTS_S,
    SAME_HZ,
    SAME_SHARE,
    Tone,
    is_steady,
    lines_of,
    multiple,
    stretches,
    tones_of,
)
from tubside.recordings.sound.track import Track

KINDS = ("notes", "pulses", "mixed", "steady", "none")
STEADY_S = 2.5
"""A tone this long is called continuous (common practice, no source)."""
MOST_NOTES = 60
FLAT_DB = 2.5
BACKED = 0.35
IN_STEP, IN_STEP_TIME = 0.004, 0.6
FAR_WEAKER = 60.0
ALONE_S = 0.7
APART = 0.025
"""Pitches closer than this (a semitone is 0.059) are one note."""


@dataclass(frozen=True, slots=True)
class Scene:
    """All tones of a sound and how far they can be believed.

    ``purity`` is the share of steady partials in the energy of all partials, ``backed`` the
    share of the tones' time in which a steady partial was followed, ``strange`` the share of
    energy in tones with partials that are no multiples, ``strange_share`` that of these partials,
    ``leaves`` how far tones leave their pitch (:func:`.kept_pitch.leaving`).
    """

    tones: tuple[Tone, ...]
    purity: float = 0.0
    backed: float = 0.0
    strange: float = 0.0
    strange_share: float = 0.0
    leaves: float = 0.0


def scene(track: Track, window_s: float = WINDOW_S) -> Scene:
    """Return the tones of a sound, hum of the mains left out, as a window [s] shows them."""
    seen = picture(track, window_s)
    every = [
        one
        for one in without_hum(seen, partials(seen))
        if len(one.frames) * seen.hop_s >= LASTS_S and one.outstands_db >= CLEAR_DB
    ]
    steady = in_step(every, [one for one in every if is_steady(one, seen.hop_s)])
    energy = sum(float(one.power.sum()) for one in every)
    if not steady:
        return Scene(())
    purity = sum(float(one.power.sum()) for one in steady) / energy
    found = tones_of(stretches(track, seen, lines_of(steady)))
    backing = np.array([backed(tone, steady, seen) for tone in found])
    weight = np.array([tone.power * tone.length_s for tone in found])
    if not found:
        return Scene((), purity)
    odd = np.array([bool(tone.strange) for tone in found])
    sure = [tone for tone, share in zip(found, backing, strict=True) if share > BACKED]
    kept = [tone for tone in found if tone in sure or mate(tone, sure)]
    told = tuple(whole_pulses(without_remainders(kept)))
    return Scene(
        told,
        purity,
        float(np.average(backing, weights=weight)),
        float(np.average(odd, weights=weight)),
        float(np.average([tone.strange_share for tone in found], weights=weight)),
        leaves(track, told),
    )


def leaves(track: Track, tones: Sequence[Tone]) -> float:
    """Return how far tones leave their pitches, those of more energy counting for more [1].

    Pulses after a tune are held against one another only, for a note may be nearly of their pitch.
    """
    if not tones:
        return 0.0
    tail = len(tones) - tail_of_pulses(tones, classes(tones))
    parts = by_pitch(tones[:tail]) + by_pitch(tones[tail:])
    weight = [sum(tone.power * tone.length_s for tone in part) for part in parts]
    return float(np.average([leaving(track, part) for part in parts], weights=weight))


def in_step(every: Sequence[Partial], steady: Sequence[Partial]) -> list[Partial]:
    """Return the partials that are steady or sound with a steady one as its multiple.

    The partials of one tone wander together. Where one keeps its pitch, the others do too, and
    what moves them is the room.
    """
    return [
        one
        for one in every
        if any(other is one for other in steady)
        or any(
            multiple(one.pitch_hz, other.pitch_hz, IN_STEP) and together(one, other) > IN_STEP_TIME
            for other in steady
        )
    ]


def together(one: Partial, other: Partial) -> float:
    """Return the share of a partial's time in which another sounds too [1]."""
    both = min(one.frames[-1], other.frames[-1]) - max(one.frames[0], other.frames[0])
    return float(both / (one.frames[-1] - one.frames[0]))


def mate(tone: Tone, sure: Sequence[Tone]) -> bool:
    """Return whether a tone is as those of its pitch that were followed: as loud and as long."""
    like = [other for other in sure if alike(tone, other)]
    if len(like) < 2:
        return False
    power = float(np.median([other.power for other in like]))
    long = float(np.median([other.length_s for other in like]))
    return 0.2 < tone.power / power < 5 and 0.6 < tone.length_s / long < 1.6


def backed(tone: Tone, steady: Sequence[Partial], seen: Picture) -> float:
    """Return the share of a tone's time in which one of its partials was followed [1]."""
    hops: set[int] = set()
    for one in steady:
        near = (abs(one.pitch_hz - hz) <= max(SAME_HZ, SAME_SHARE * hz) for hz in tone.with_hz)
        if any(near):
            hops.update(range(int(one.frames[0]), int(one.frames[-1]) + 1))
    middle = round(seen.window_s / 2 / seen.hop_s)
    own = range(round(tone.start_s / seen.hop_s), round(tone.end_s / seen.hop_s))
    return sum(at - middle in hops for at in own) / max(1, len(own))


def without_remainders(tones: Sequence[Tone]) -> list[Tone]:
    """Return the tones without short weak ones beside a much stronger: edges and echoes."""

    def remainder(one: Tone) -> bool:
        return any(
            other.power > 8 * one.power
            and other.length_s > 1.5 * one.length_s
            and other.start_s - 0.1 < one.start_s
            and one.end_s < other.end_s + 0.25
            for other in tones
        ) or any(is_echo(one, other) for other in tones)

    top = max((tone.power for tone in tones), default=0.0)
    return [tone for tone in tones if tone.power > top / 400 and not remainder(tone)]


def is_echo(one: Tone, other: Tone) -> bool:
    """Return whether a tone is the room's answer to a partial of another, far weaker than it."""
    both = min(one.end_s, other.end_s) - max(one.start_s, other.start_s)
    partial = multiple(one.pitch_hz, other.pitch_hz, IN_STEP) and one.pitch_hz > other.pitch_hz
    return partial and both > 0 and other.power > FAR_WEAKER * one.power


def whole_pulses(tones: Sequence[Tone]) -> list[Tone]:
    """Return the tones with those of each pitch mended, in the order they begin."""
    return sorted((t for part in by_pitch(tones) for t in mended(part)), key=lambda t: t.start_s)


def by_pitch(tones: Sequence[Tone]) -> list[list[Tone]]:
    """Return the tones of each pitch, in the order of :func:`classes`."""
    numbers = classes(tones)
    return [
        [tone for tone, number in zip(tones, numbers, strict=True) if number == k]
        for k in range(max(numbers, default=-1) + 1)
    ]


def alike(one: Tone, other: Tone) -> bool:
    """Return whether two tones have the same pitch, or share their partials."""
    near = abs(np.log(one.pitch_hz / other.pitch_hz)) < APART
    if near:
        return True
    common = sum(any(abs(np.log(a / b)) < 0.006 for b in other.with_hz) for a in one.with_hz)
    return common >= 0.6 * max(len(one.with_hz), len(other.with_hz)) and common > 0


def classes(tones: Sequence[Tone]) -> list[int]:
    """Return a number for each tone, the same for those alike."""
    heads: list[Tone] = []
    numbers = []
    for tone in tones:
        same = [k for k, head in enumerate(heads) if alike(tone, head)]
        heads += [] if same else [tone]
        numbers.append(same[0] if same else len(heads) - 1)
    return numbers


def tail_of_pulses(tones: Sequence[Tone], numbers: Sequence[int]) -> int:
    """Return how many tones at the end are equal pulses after a tune; nought if none.

    Their pitch is new, or they are many; before them is a pause longer than any in the tune,
    whose last notes may have the pitch of the pulses. Of a tune one note can be all that is
    heard, where an even train follows: no tune ends in one.
    """
    last = numbers[-1]
    n = next((k for k, number in enumerate(reversed(numbers)) if number != last), len(numbers))
    for head in range(max(1, len(tones) - n), len(tones) - 1):
        fresh = last not in numbers[:head]
        rests = [b.start_s - a.end_s for a, b in pairwise(tones[:head])]
        pause = tones[head].start_s - tones[head - 1].end_s
        alone = fresh and pause > ALONE_S and even_train(tones[head:])
        if not equal_lengths(tones[head:]) or (len(set(numbers[:head])) < 2 and not alone):
            continue
        if pause > 1.5 * max([0.1, *rests]) and (fresh or len(tones) - head >= 3):
            return len(tones) - head
    return 0


def kind_of(tones: Sequence[Tone]) -> str:
    """Return what a row of tones would be, were all of them real."""
    if not tones or len(tones) > MOST_NOTES:
        return "none"
    numbers = classes(tones)
    counts = np.bincount(numbers)
    if len(counts) == 1:
        return one_pitch(tones)
    if tail_of_pulses(tones, numbers):
        return "mixed"
    main = int(counts.argmax())
    leading = [tone for tone, number in zip(tones, numbers, strict=True) if number == main]
    energy = sum(tone.power * tone.length_s for tone in tones)
    if sum(tone.power * tone.length_s for tone in leading) > 0.97 * energy:
        return one_pitch(leading)
    return "notes"


def one_pitch(tones: Sequence[Tone]) -> str:
    """Return what tones of one pitch are: steady, pulses, or struck only once."""
    sounding = sum(tone.length_s for tone in tones)
    span = tones[-1].end_s - tones[0].start_s
    if max(tone.length_s for tone in tones) >= STEADY_S or (
        span >= STEADY_S and sounding > 0.95 * span
    ):
        return "steady"
    if len(tones) > 1:
        return "pulses"
    flat = abs(tones[0].falls_db) < FLAT_DB and tones[0].length_s >= 0.12
    return "pulses" if flat else "none"
