"""What a person saw on a panel, as soft evidence for its indications and conditions.

A lamp not spoken of, or told as "not sure", is unknown and carries no evidence.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np

from tubside.errors import UnknownNameError
from tubside.panel.display import display_row, place_of
from tubside.panel.lights import OFF, SOUNDS, Light, Sound
from tubside.panel.misreading import RATES, MisreadRates, Observer, lamp_row, sayable, sound_row
from tubside.panel.schema import Panel, Sure

BLANK = "(blank)"
"""Stands for a panel that shows nothing, beside the panel's own indications."""

TRUE: Mapping[Sure, float] = MappingProxyType({"sure": 1.0, "likely": 0.8, "unsure": 0.5})
"""Chance that an indication means what its file says (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What was told: lamp id -> light, the sound and the display's text (None: unknown)."""

    lamps: Mapping[str, Light] = field(default_factory=lambda: MappingProxyType({}))
    sound: Sound | None = None
    display: str | None = None


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
    told = indication_likelihoods(panel, seen, observer, rates)
    return {name: told[name] for name in panel.indications}


def indication_likelihoods(
    panel: Panel,
    seen: Seen,
    observer: Observer,
    rates: Mapping[Observer, MisreadRates] = RATES,
) -> dict[str, float]:
    """As :func:`likelihoods`, and for a panel that shows nothing under :data:`BLANK`."""
    return _told(panel, seen, rates[observer])


def condition_likelihoods(
    panel: Panel,
    seen: Seen,
    observer: Observer,
    conditions: Collection[str],
    rates: Mapping[Observer, MisreadRates] = RATES,
) -> dict[str, float]:
    """P(seen | condition): the mean over the indications that mean it.

    An indication whose meaning is not sure speaks with the chance of :data:`TRUE` for
    what it is said to mean, and with the rest for all the other conditions alike. A
    condition that the panel cannot show leaves it blank: no lamp lit, no sound. So
    a lit lamp speaks against such a condition down to the chance of a wholly misread
    panel, and nothing told gives every condition the same 1.
    """
    return by_condition(panel, _told(panel, seen, rates[observer]), conditions)


def by_condition(
    panel: Panel, told: Mapping[str, float], conditions: Collection[str]
) -> dict[str, float]:
    """P(seen | condition) from P(seen | indication), :data:`BLANK` among the indications.

    As :func:`condition_likelihoods`, for whatever saw the panel.
    """
    means = _meanings(panel)
    sure = {
        condition: float(np.mean([told[name] for name in means.get(condition, [BLANK])]))
        for condition in conditions
    }
    return _doubted(panel, told, sure)


def _doubted(
    panel: Panel, told: Mapping[str, float], sure: Mapping[str, float]
) -> dict[str, float]:
    """P(seen | condition) where some indications may mean another condition.

    With the chance that its meaning is wrong, an indication is that of any condition
    it is not said to mean, and the conditions it is said to mean show anything at all.
    """
    doubts = {name: 1 - TRUE[shown.sure] for name, shown in panel.indications.items()}
    if not any(doubts.values()):
        return dict(sure)
    anything = float(np.mean([told[name] for name in panel.indications]))
    found: dict[str, float] = {}
    for condition, value in sure.items():
        own = [name for name, shown in panel.indications.items() if condition in shown.conditions]
        doubt = float(np.mean([doubts[name] for name in own])) if own else 0.0
        shares = {
            name: doubts[name] / max(len(sure) - len(panel.indications[name].conditions), 1)
            for name in panel.indications
            if doubts[name] and name not in own
        }
        kept = max(1 - doubt - sum(shares.values()), 0.0)
        by_others = sum(share * told[name] for name, share in shares.items())
        whole = kept + doubt + sum(shares.values())
        found[condition] = (kept * value + doubt * anything + by_others) / whole
    return found


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
    own = {
        name: _lamp_by_lamp(panel, seen, (panel.lights(name), shown.sound, shown.display), rates)
        for name, shown in panel.indications.items()
    }
    blank = _lamp_by_lamp(panel, seen, (dict.fromkeys(panel.lamps, OFF), "none", None), rates)
    return mixed_up(own, blank, rates.another_message)


def mixed_up(own: Mapping[str, float], blank: float, another: float) -> dict[str, float]:
    """P(seen | indication) and of the blank panel, where with a chance another is told.

    What is told then belongs to any of the panel's indications alike.
    """
    mixed = another * float(np.mean(list(own.values())))
    return {name: (1 - another) * value + mixed for name, value in {**own, BLANK: blank}.items()}


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
    panel: Panel,
    seen: Seen,
    true: tuple[Mapping[str, Light], Sound, str | None],
    rates: MisreadRates,
) -> float:
    """P(seen | true lights, sound and display), each misread by itself."""
    lights, sound, display = true
    counts = panel.counts
    words = sayable(counts=counts)
    factors: list[float] = [
        lamp_row(lights[lamp], rates, counts=counts)[words.index(said)]
        for lamp, said in seen.lamps.items()
    ]
    if seen.sound is not None:
        factors.append(sound_row(sound, rates)[SOUNDS.index(seen.sound)])
    if seen.display is not None:
        factors.append(display_row(display, panel, rates)[place_of(seen.display, panel)])
    return float(np.prod(factors))
