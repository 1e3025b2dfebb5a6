"""What a sound tells: notes, pulses, both, one steady tone, or nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tubside.recordings.sound.partials import (
    WINDOW_S,
    Partial,
    Picture,
    is_hum,
    partials,
    picture,
)
from tubside.recordings.sound.pulse_groups import equal_lengths, mended
from tubside.recordings.sound.tones import (
    CLEAR_DB,
    LASTS_S,
    SAME_HZ,
    SAME_SHARE,
    Tone,
    is_steady,
    lines_of,
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
APART = 0.025
"""Pitches closer than this (a semitone is 0.059) are one note."""


@dataclass(frozen=True, slots=True)
class Scene:
    """All tones of a sound and how far they can be believed.

    ``purity`` is the share of steady partials in the energy of all partials, ``backed`` the
    share of the tones' time in which a steady partial was followed, ``strange`` the share of
    energy in tones with partials that are no multiples.
    """

    tones: tuple[Tone, ...]
    purity: float = 0.0
    backed: float = 0.0
    strange: float = 0.0


def scene(track: Track, window_s: float = WINDOW_S) -> Scene:
    """Return the tones of a sound, hum of the mains left out, as a window [s] shows them."""
    seen = picture(track, window_s)
    every = [
        one
        for one in partials(seen)
        if len(one.frames) * seen.hop_s >= LASTS_S
        and one.outstands_db >= CLEAR_DB
        and not is_hum(seen, one.pitch_hz, len(one.frames) * seen.hop_s)
    ]
    steady = [one for one in every if is_steady(one, seen.hop_s)]
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
    return Scene(
        tuple(whole_pulses(without_remainders(kept))),
        purity,
        float(np.average(backing, weights=weight)),
        float(np.average(odd, weights=weight)),
    )


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
        )

    top = max((tone.power for tone in tones), default=0.0)
    return [tone for tone in tones if tone.power > top / 400 and not remainder(tone)]


def whole_pulses(tones: Sequence[Tone]) -> list[Tone]:
    """Return the tones with those of each pitch mended, in the order they begin."""
    numbers = classes(tones)
    parts = [[t for t, n in zip(tones, numbers, strict=True) if n == k] for k in set(numbers)]
    return sorted((tone for part in parts for tone in mended(part)), key=lambda t: t.start_s)


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
    whose last notes may have the pitch of the pulses.
    """
    last = numbers[-1]
    n = next((k for k, number in enumerate(reversed(numbers)) if number != last), len(numbers))
    for head in range(max(1, len(tones) - n), len(tones) - 1):
        if len(set(numbers[:head])) < 2 or not equal_lengths(tones[head:]):
            continue
        rests = [b.start_s - a.end_s for a, b in pairwise(tones[:head])]
        pause = tones[head].start_s - tones[head - 1].end_s
        fresh = last not in numbers[:head]
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
