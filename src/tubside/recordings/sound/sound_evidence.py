"""What a recorded sound says for each indication of a panel: virtual evidence.

A sound's likelihoods are given under a flat prior over kinds, so that they stand in the same
ratio as the chances of what was recorded, and no prior counts twice (Pearl 1988, section
2.2.2, virtual evidence).
"""

from __future__ import annotations

from collections.abc import Mapping

from tubside.panel.lights import SOUNDS, Sound
from tubside.panel.schema import Panel
from tubside.recordings.sound.answering import SoundAnswer

MISSED = 0.25
"""Chance that the message was not playing while recorded (common practice, no source)."""
ELSEWHERE = 0.04
"""Chance that another machine or a phone sounded (common practice, no source)."""
PARTLY = 0.03
"""Chance that notes and pulses are mixed up, or one follows the other (simulated sounds)."""
LEAST = 0.002
"""Least likelihood of a kind: no recording is surer of it (simulated sounds)."""

HEARD: Mapping[Sound, Mapping[str, float]] = {
    "none": {
        "none": 1 - ELSEWHERE,
        **dict.fromkeys(("notes", "pulses", "mixed", "steady"), ELSEWHERE / 4),
    },
    "notes": {
        "notes": 1 - MISSED - 3 * PARTLY,
        "none": MISSED,
        "mixed": 2 * PARTLY,
        "pulses": PARTLY / 2,
        "steady": PARTLY / 2,
    },
    "pulses": {
        "pulses": 1 - MISSED - 3 * PARTLY,
        "none": MISSED,
        "mixed": 2 * PARTLY,
        "notes": PARTLY / 2,
        "steady": PARTLY / 2,
    },
    "steady tone": {
        "steady": 1 - MISSED - PARTLY,
        "none": MISSED,
        "notes": PARTLY / 4,
        "pulses": PARTLY / 2,
        "mixed": PARTLY / 4,
    },
}
"""P(kind heard | sound of the indication); each row sums to one."""


def likelihood_of(answer: SoundAnswer, sound: Sound) -> float:
    """P(what was recorded | the machine makes this sound), up to one factor.

    Examples
    --------
    >>> sure = {"notes": 0.0, "pulses": 1.0, "mixed": 0.0, "steady": 0.0, "none": 0.0}
    >>> heard = SoundAnswer(kind="pulses", probability=sure)
    >>> [round(likelihood_of(heard, sound), 3) for sound in SOUNDS]
    [0.012, 0.017, 0.661, 0.017]
    """
    return sum(
        chance * max(answer.probability[kind], LEAST) for kind, chance in HEARD[sound].items()
    )


def sound_likelihoods(answer: SoundAnswer, panel: Panel) -> dict[str, float]:
    """P(what was recorded | indication) up to one factor, for every indication of the panel.

    An indication's sound is one of none, notes, pulses, steady tone; panel files state no
    counts of pulses, so counts say nothing here and are for the technician to read.

    Parameters
    ----------
    answer : SoundAnswer
        As told by :func:`tubside.recordings.sound.answering.answer`.
    panel : Panel
        The model's panel.
    """
    by_sound = {sound: likelihood_of(answer, sound) for sound in SOUNDS}
    return {name: by_sound[shown.sound] for name, shown in panel.indications.items()}
