"""How often two indications of a panel are taken for each other.

Two indications, equally likely beforehand, and one observer who names the likelier:
the chance of naming the wrong one is half the overlap of their rows,
1/2 sum over all that can be said of min(P(said | one), P(said | other)).
Lamps that do the same in both cancel, so only the differing ones are enumerated.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from tubside.panel.display import display_row
from tubside.panel.misreading import (
    RATES,
    Floats,
    MisreadRates,
    Observer,
    lamp_row,
    sound_row,
)
from tubside.panel.schema import Panel

LARGEST = 1_000_000
"""Sayings enumerated at most; beyond it further lamps are left out, which errs high."""


@dataclass(frozen=True, slots=True)
class Confusion:
    """Chance of naming the wrong one of two; an upper bound when not ``exact``."""

    first: str
    second: str
    chance: float
    exact: bool = True


def confusion(
    panel: Panel,
    pair: tuple[str, str],
    observer: Observer,
    rates: Mapping[Observer, MisreadRates] = RATES,
) -> Confusion:
    """How often the observer takes one indication of ``pair`` for the other."""
    slips = rates[observer]
    return Confusion(*pair, *mistaken(_differing_rows(panel, pair, slips), slips))


def mistaken(rows: Sequence[tuple[Floats, Floats]], slips: MisreadRates) -> tuple[float, bool]:
    """The chance of naming the wrong of two, and whether it is exact, from what differs.

    ``rows`` are P(said | one) and P(said | other) of each lamp or sound told.
    """
    one, other = np.ones(1), np.ones(1)
    exact = True
    for here, there in rows:
        if one.size * here.size > LARGEST:
            exact = False
            break
        one, other = np.outer(one, here).ravel(), np.outer(other, there).ravel()
    overlap = float(np.minimum(one, other).sum())
    # A wholly misread panel says the same whichever of the two was shown.
    return ((1 - slips.another_message) * overlap + slips.another_message) / 2, exact


def confusions(
    panel: Panel, observer: Observer, rates: Mapping[Observer, MisreadRates] = RATES
) -> list[Confusion]:
    """Every pair of the panel's indications, the worst first."""
    pairs = combinations(panel.indications, 2)
    told = [confusion(panel, pair, observer, rates) for pair in pairs]
    return sorted(told, key=lambda found: (-found.chance, found.first, found.second))


def hard_to_tell(
    panel: Panel,
    observer: Observer,
    chance: float = 0.1,
    rates: Mapping[Observer, MisreadRates] = RATES,
) -> list[Confusion]:
    """The pairs that the observer mixes up at least as often as ``chance``."""
    return [found for found in confusions(panel, observer, rates) if found.chance >= chance]


def _differing_rows(
    panel: Panel, pair: tuple[str, str], slips: MisreadRates
) -> list[tuple[Floats, Floats]]:
    """Rows of P(said | one) and P(said | other) for lamps, sound and display that differ."""
    one, other = (panel.lights(name) for name in pair)
    rows = [
        (
            lamp_row(one[lamp], slips, counts=panel.counts),
            lamp_row(other[lamp], slips, counts=panel.counts),
        )
        for lamp in panel.lamps
        if one[lamp] != other[lamp]
    ]
    here, there = (panel.indications[name].sound for name in pair)
    if here != there:
        rows.append((sound_row(here, slips), sound_row(there, slips)))
    texts = [panel.indications[name].display for name in pair]
    if texts[0] != texts[1]:
        first, second = (display_row(text, panel, slips) for text in texts)
        rows.append((first, second))
    return rows
