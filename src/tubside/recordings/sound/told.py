"""How far a sound can be believed to be a message of the machine, and the answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from tubside.recordings.sound.heard import (
    KINDS,
    Scene,
    classes,
    kind_of,
    scene,
    tail_of_pulses,
)
from tubside.recordings.sound.pulse_groups import Pulses, even_train, pulses_of, unevenness
from tubside.recordings.sound.pulse_places import filled
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


LONGER_S = 0.128
"""Window of the second look, where the first shows nothing: 3 dB more of what lasts."""
FAINT_PURITY, FAINT_BACKED = 0.9, 0.7
LONGEST_PULSE_S = 1.2
"""The strokes of a tumbling drum, whose motor whines, last longer than pulses do (common practice,
no source)."""
STRUCK_DB = 2.0
AGAIN_NOTES = 2
LEAVES, LEAVES_IN_TUNE = 0.8, 0.3
"""How far tones may leave their pitch, in units of the error of a beeper's: of simulated messages
all stayed below 0.35 and 0.22, of motors' whines all were above 0.8 and of songs above 0.35."""
STRANGE_SHARE = 0.12
"""Energy in lines that fit no tone; of simulated tunes at most 0.09, of chords and struck metal
mostly more."""
FEW = 0.12
"""Share left to other kinds where two notes or one pulse are all that was heard."""


def logistic(x: float) -> float:
    """Return 1 / (1 + exp(-x)).

    >>> logistic(0.0)
    0.5
    """
    return float(1 / (1 + np.exp(-np.clip(x, -30, 30))))


def in_company(tones: Sequence[Tone]) -> float:
    """Return the share of tones that another follows or precedes closely, as in a tune [1].

    Of a struck note only the beginning stands out of noise, so that the pause seems longer. A tune
    that comes back to its pitches, as no knocks do, may have longer ones.
    """
    again = len(tones) - len(set(classes(tones))) >= AGAIN_NOTES
    struck = again or float(np.median([tone.falls_db for tone in tones])) > STRUCK_DB
    long = float(np.median([tone.length_s for tone in tones]))
    near = max(0.8 if struck else 0.4, 1.5 * long)
    close = [b.start_s - a.end_s < near for a, b in pairwise(tones)]
    return float(np.mean([a or b for a, b in pairwise([False, *close, False])]))


def main_pulses(tones: Sequence[Tone]) -> list[Tone]:
    """Return the tones of the commonest pitch."""
    numbers = classes(tones)
    main = int(np.bincount(numbers).argmax())
    return [tone for tone, number in zip(tones, numbers, strict=True) if number == main]


def chance_told(heard: Scene, kind: str) -> float:
    """Return the chance that the tones are a message and not chance finds in other sound [1].

    The weakest of several signs decides: purity and backing (a voice, a motor and music fail
    these), how well each pitch is kept (a whine and a song fail it), partials that fit no tone
    (a chord, struck metal), lengths and evenness. An even train of four pulses and more is no
    chance find, whatever else sounds beside it.
    """
    if kind == "none":
        return 0.0
    tail = tail_of_pulses(heard.tones, classes(heard.tones)) if kind == "mixed" else 0
    train = {"pulses": main_pulses(heard.tones), "mixed": heard.tones[len(heard.tones) - tail :]}
    even = even_train(train.get(kind, []))
    leaves = LEAVES_IN_TUNE if kind in {"notes", "mixed"} else LEAVES
    signs = [(leaves - heard.leaves) / (0.1 * leaves)]
    if even:
        signs += [(heard.purity - 0.2) / 0.02, (heard.backed - 0.4) / 0.05]
    else:
        signs += [(heard.purity - 0.66) / 0.04, (heard.backed - 0.5) / 0.05]
        signs += [(STRANGE_SHARE - heard.strange_share) / (0.1 * STRANGE_SHARE)]
    if heard.strange > 0.5 and not even:
        signs += [(heard.purity - 0.9) / 0.02, (heard.backed - 0.72) / 0.04]
    return logistic(min(signs + signs_of_lengths(heard.tones, kind)))


def signs_of_lengths(tones: Sequence[Tone], kind: str) -> list[float]:
    """Return signs for a message from the lengths of tones and when they come."""
    long = float(np.median([tone.length_s for tone in tones]))
    falls = float(np.median([tone.falls_db for tone in tones]))
    if kind == "notes":
        again = len(tones) - len(set(classes(tones))) >= AGAIN_NOTES
        struck = 0.0 if again else float(np.clip(falls, 0.0, 2.0))
        return [(long - 0.075 - 0.02 * struck) / 0.006, (in_company(tones) - 0.75) / 0.03]
    if kind == "pulses":
        return [
            (0.2 - unevenness(tones)) / 0.03,
            (long - 0.045) / 0.005,
            (5.0 - falls) / 0.7,
            (LONGEST_PULSE_S - long) / 0.05,
        ]
    return []


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


def is_faint_train(heard: Scene) -> bool:
    """Return whether a second look shows an even train of pulses, and nearly nothing else."""
    if not heard.tones or heard.purity < FAINT_PURITY or heard.backed < FAINT_BACKED:
        return False
    train = main_pulses(heard.tones)
    energy = sum(tone.power * tone.length_s for tone in heard.tones)
    mostly = sum(tone.power * tone.length_s for tone in train) > 0.8 * energy
    return mostly and even_train(train) and kind_of(train) == "pulses"


def read_sound(track: Track) -> ToldSound:
    """Return what a sound tells: notes, pulses, both, a steady tone, or nothing."""
    heard = scene(track)
    chances = likelihoods(heard, kind_of(heard.tones))
    kind = max(KINDS, key=lambda k: chances[k])
    longer = scene(track, LONGER_S) if kind == "none" else None
    if longer is not None and is_faint_train(longer):
        heard = replace(longer, tones=tuple(main_pulses(longer.tones)))
        chances = likelihoods(heard, "pulses")
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
    beeps = main_pulses(tones) if kind == "pulses" else tones[len(tones) - tail :]
    tune = tones[: len(tones) - tail]
    return ToldSound(
        kind,
        chances,
        tuple(Note(round(t.start_s, 3), round(t.length_s, 3), round(t.pitch_hz, 1)) for t in tune),
        pulses_of(filled(track, beeps)) if beeps else None,
        advice=tuple(advice),
    )
