"""Pulses that a train leads to expect: a second look at their places, at their own pitch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from tubside.recordings.sound.partials import HOP_S, Array
from tubside.recordings.sound.pulse_groups import FEWEST, REST, even_train
from tubside.recordings.sound.tones import Tone, loudness
from tubside.recordings.sound.track import Track

PART = 0.35
"""Of the pulses' middle power that one must have; a room's tail is far weaker a period later."""
CHANCE = 0.01
"""That noise alone passes at one place: its power has an exponential distribution."""
SLACK = 0.1
"""Periods around its place in which a pulse is looked for."""


@dataclass(frozen=True, slots=True)
class Train:
    """Power at the pulses' pitch by hops, as a window of their length shows it; what to expect.

    ``length_s`` and ``period_s`` are those of the pulses [s], ``least`` the power that one has.
    """

    level: Array
    length_s: float
    period_s: float
    least: float

    def at(self, start_s: float) -> float:
        """Return the highest power of a pulse that begins about then; nought outside."""
        first = round((start_s + self.length_s / 2) / HOP_S)
        slack = max(1, round(SLACK * self.period_s / HOP_S))
        if first - slack < 0 or first + slack >= len(self.level):
            return 0.0
        return float(self.level[first - slack : first + slack + 1].max())


def train_of(track: Track, tones: Sequence[Tone]) -> Train:
    """Return what to expect of further pulses, from four or more even ones."""
    length = float(np.median([tone.length_s for tone in tones]))
    steps = np.diff([tone.start_s for tone in tones])
    period = float(np.median(steps[steps <= REST * steps.min()]))
    lead = max(tones, key=lambda tone: tone.power).lead_hz
    level = loudness(track, lead, length, HOP_S)
    middles = [round((tone.start_s + tone.end_s) / 2 / HOP_S) for tone in tones]
    usual = float(np.median(level[np.minimum(middles, len(level) - 1)]))
    away = np.ones(len(level), bool)
    for tone in tones:
        away[max(0, int((tone.start_s - length) / HOP_S)) : int((tone.end_s + length) / HOP_S)] = (
            False
        )
    rest = float(np.median(level[away])) / np.log(2) if away.any() else 0.0
    return Train(level, length, period, max(PART * usual, -np.log(CHANCE) * rest))


def filled(track: Track, tones: Sequence[Tone]) -> list[Tone]:
    """Return pulses with those found again where an even train leaves a place empty.

    The power of a sine of known pitch and length is held against that of the other pulses and of
    the noise: the matched filter (Turin, *An introduction to matched filters*, IRE Trans.
    Information Theory 6(3), 1960; from memory). Places are one period after a pulse and one
    before, as long as one is found. Fewer than four pulses, or uneven ones, are left alone.
    """
    if not even_train(tones) or not all(tone.lead_hz for tone in tones):
        return list(tones)
    train = train_of(track, tones)
    found = sorted(tones, key=lambda tone: tone.start_s)
    for _ in range(len(tones) + FEWEST):
        new = next(iter(missing(train, found)), None)
        if new is None:
            break
        end = new + train.length_s
        found = sorted([*found, replace(found[0], start_s=new, end_s=end)], key=_start)
    return found


def _start(tone: Tone) -> float:
    return tone.start_s


def missing(train: Train, tones: Sequence[Tone]) -> list[float]:
    """Return starts [s] of pulses one period before or after others, where there is room."""
    far = [-np.inf, *(tone.start_s for tone in tones), np.inf]
    places = [
        at
        for before, after in pairwise(far)
        for at in (before + train.period_s, after - train.period_s)
        if np.isfinite(at)
        and at - before > (1 - 2 * SLACK) * train.period_s
        and after - at > (1 - 2 * SLACK) * train.period_s
    ]
    return [at for at in places if train.at(at) >= train.least]
