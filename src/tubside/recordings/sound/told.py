"""How far a sound can be believed to be a message of the machine, and the answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tubside.recordings.sound.heard import (
    KINDS,
    Scene,
    classes,
    kind_of,
    scene,
    tail_of_pulses,
)
from tubside.recordings.sound.pulse_groups import Pulses, pulses_of
from tubside.recordings.sound.tones import Tone
from tubside.recordings.sound.track import Track

SURE = 0.8
"""Below this the answer comes with advice to record again."""
AGAIN = (
    "Record again: hold the phone near the panel, keep quiet, and let the whole message play twice."
)
CUT = "Only the beginning was read; cut the recording to the message."


@dataclass(frozen=True, slots=True)
class Note:
    """One note: when it begins and how long it lasts [s], and its pitch [Hz]."""

    start_s: float
    length_s: float
    pitch_hz: float


@dataclass(frozen=True, slots=True)
class ToldSound:
    """What a sound tells; ``probability`` are likelihoods under a flat prior over kinds."""

    kind: str
    probability: dict[str, float]
    notes: tuple[Note, ...] = ()
    pulses: Pulses | None = None
    pitch_hz: float | None = None
    advice: tuple[str, ...] = ()


FEW = 0.12
"""Share left to other kinds where two notes or one pulse are all that was heard."""


def logistic(x: float) -> float:
    """Return 1 / (1 + exp(-x)).

    >>> logistic(0.0)
    0.5
    """
    return float(1 / (1 + np.exp(-np.clip(x, -30, 30))))


def regular(tones: Sequence[Tone]) -> float:
    """Return how even the times between the beginnings of pulses are: relative spread [1]."""
    steps = np.diff([tone.start_s for tone in tones])
    if len(steps) < 2:
        return 0.0
    short = steps[steps <= 1.6 * steps.min()]
    return float(np.std(short) / np.mean(short)) if len(short) > 1 else 0.0


def chance_told(heard: Scene, kind: str) -> float:
    """Return the chance that the tones are a message and not chance finds in other sound [1].

    The weakest of several signs decides: purity and backing (a voice, a motor and music fail
    these), partials that fit no tone (a chord, struck metal), lengths and evenness.
    """
    if kind == "none":
        return 0.0
    long = float(np.median([tone.length_s for tone in heard.tones]))
    falls = float(np.median([tone.falls_db for tone in heard.tones]))
    signs = [(heard.purity - 0.66) / 0.04, (heard.backed - 0.5) / 0.05]
    if heard.strange > 0.5:
        signs += [(heard.purity - 0.9) / 0.02, (heard.backed - 0.72) / 0.04]
    if kind == "notes":
        struck = float(np.clip(falls, 0.0, 2.0))
        signs.append((long - 0.075 - 0.02 * struck) / 0.006)
    if kind == "pulses":
        signs += [(0.2 - regular(heard.tones)) / 0.03, (long - 0.045) / 0.005]
        signs.append((5.0 - falls) / 0.7)
    return logistic(min(signs))


def likelihoods(heard: Scene, kind: str) -> dict[str, float]:
    """Return likelihoods of the kinds under a flat prior; they add to one."""
    told = chance_told(heard, kind)
    spill = {"notes": 0.03, "pulses": 0.02, "mixed": 0.05, "steady": 0.02}.get(kind, 0.0)
    if len(heard.tones) == (2 if kind == "notes" else 1) and kind != "steady":
        spill = FEW
    if kind == "none":
        rest = 0.04 if not heard.tones else 0.08
        return {k: 1 - rest if k == "none" else rest / 4 for k in KINDS}
    others = [k for k in KINDS if k not in {kind, "none"}]
    floor = 0.01
    out = {"none": floor + (1 - 2 * floor) * (1 - told)}
    left = 1 - out["none"]
    out[kind] = left * (1 - spill)
    out |= {k: left * spill / len(others) for k in others}
    return {k: round(out[k], 4) for k in KINDS}


def read_sound(track: Track) -> ToldSound:
    """Return what a sound tells: notes, pulses, both, a steady tone, or nothing."""
    heard = scene(track)
    chances = likelihoods(heard, kind_of(heard.tones))
    kind = max(KINDS, key=lambda k: chances[k])
    advice = [AGAIN] if chances[kind] < SURE else []
    advice += [CUT] if track.cut else []
    if kind == "none":
        return ToldSound(kind, chances, advice=tuple(advice))
    tones = list(heard.tones)
    if kind == "steady":
        longest = max(tones, key=lambda tone: tone.length_s)
        return ToldSound(kind, chances, pitch_hz=round(longest.pitch_hz, 1), advice=tuple(advice))
    numbers = classes(tones)
    tail = {"mixed": tail_of_pulses(tones, numbers), "pulses": len(tones)}.get(kind, 0)
    if kind == "pulses":
        main = int(np.bincount(numbers).argmax())
        beeps = [tone for tone, number in zip(tones, numbers, strict=True) if number == main]
    else:
        beeps = tones[len(tones) - tail :]
    tune = tones[: len(tones) - tail]
    return ToldSound(
        kind,
        chances,
        tuple(Note(round(t.start_s, 3), round(t.length_s, 3), round(t.pitch_hz, 1)) for t in tune),
        pulses_of(beeps) if beeps else None,
        advice=tuple(advice),
    )
