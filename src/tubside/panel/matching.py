"""What a person saw on a panel, as soft evidence for its indications and conditions.

A lamp not spoken of, or told as "not sure", is unknown and carries no evidence.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np

from tubside.errors import UnknownNameError
from tubside.panel.lights import OFF, SOUNDS, Light, Sound
from tubside.panel.misreading import RATES, MisreadRates, Observer, lamp_row, sayable, sound_row
from tubside.panel.schema import Panel

_BLANK = "(blank)"


@dataclass(frozen=True, slots=True)
class Seen:
    """What was told: lamp id -> light, and the sound (None: unknown)."""

    lamps: Mapping[str, Light] = field(default_factory=lambda: MappingProxyType({}))
    sound: Sound | None = None


def likelihoods(
    panel: Panel,
    seen: Seen,
    observer: Observer,
    rates: Mapping[Observer, MisreadRates] = RATES,
) -> dict[str, float]:
    """P(seen | indication) for every indication of the panel.

    With the chance ``another_message`` what was told belongs to any of the panel's
    indications alike; else each lamp and the sound is misread by itself. For one
    choice of lamps spoken of, the values sum to one over all that can be said.
    """
    told = _told(panel, seen, rates[observer])
    return {name: told[name] for name in panel.indications}


def condition_likelihoods(
    panel: Panel,
    seen: Seen,
    observer: Observer,
    conditions: Collection[str],
    rates: Mapping[Observer, MisreadRates] = RATES,
) -> dict[str, float]:
    """P(seen | condition): the mean over the indications that mean it.

    A condition that the panel cannot show leaves it blank: no lamp lit, no sound. So
    a lit lamp speaks against such a condition down to the chance of a wholly misread
    panel, and nothing told gives every condition the same 1.
    """
    told = _told(panel, seen, rates[observer])
    means = _meanings(panel)
    return {
        condition: float(np.mean([told[name] for name in means.get(condition, [_BLANK])]))
        for condition in conditions
    }


def _meanings(panel: Panel) -> dict[str, list[str]]:
    """Condition -> the indications that mean it."""
    means: dict[str, list[str]] = {}
    for name, indication in panel.indications.items():
        for condition in indication.conditions:
            means.setdefault(condition, []).append(name)
    return means


def _told(panel: Panel, seen: Seen, rates: MisreadRates) -> dict[str, float]:
    """P(seen | indication), and for the blank panel under its own name."""
    _check_sayable(panel, seen)
    sounds = {name: indication.sound for name, indication in panel.indications.items()}
    lights = {name: panel.lights(name) for name in panel.indications}
    own = {name: _lamp_by_lamp(panel, seen, (lights[name], sounds[name]), rates) for name in lights}
    blank = _lamp_by_lamp(panel, seen, (dict.fromkeys(panel.lamps, OFF), "none"), rates)
    mixed = rates.another_message * float(np.mean(list(own.values())))
    kept = 1 - rates.another_message
    return {name: kept * value + mixed for name, value in (own | {_BLANK: blank}).items()}


def _check_sayable(panel: Panel, seen: Seen) -> None:
    """Refuse a lamp that is not on the panel and a count where nothing counts.

    Raises
    ------
    UnknownNameError
        when what was seen cannot be told of this panel
    """
    words = sayable(counts=panel.counts)
    for lamp, light in seen.lamps.items():
        if lamp not in panel.lamps:
            known = ", ".join(panel.lamps)
            msg = f"the {panel.name} has no lamp {lamp}; its lamps are {known}"
            raise UnknownNameError(msg)
        if light not in words:
            msg = f"lamp {lamp} of the {panel.name} cannot show {light}; say flashing"
            raise UnknownNameError(msg)


def _lamp_by_lamp(
    panel: Panel, seen: Seen, true: tuple[Mapping[str, Light], Sound], rates: MisreadRates
) -> float:
    """P(seen | true lights and sound), each misread by itself."""
    lights, sound = true
    counts = panel.counts
    words = sayable(counts=counts)
    factors: list[float] = [
        lamp_row(lights[lamp], rates, counts=counts)[words.index(said)]
        for lamp, said in seen.lamps.items()
    ]
    if seen.sound is not None:
        factors.append(sound_row(sound, rates)[SOUNDS.index(seen.sound)])
    return float(np.prod(factors))
