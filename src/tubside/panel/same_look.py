"""Which reports of one panel are reports of one indication, misread now and then.

The reports are parted by a Chinese restaurant process: before anything is compared,
the next report shows an indication that was shown m times with odds m, and one not seen
before with odds 1, each of the about twelve that a panel has alike. So a parting into
groups of m_1, m_2, ... reports has the weight

    prod over groups of (1 / 12) * (m - 1)! * prod over its reports of P(told | look)

with P(told | look) by the rates of misreading (:mod:`tubside.panel.misreading`). Groups
are joined two at a time, the pair that gains most first, while any gains; tests hold that
against every parting of a few reports.

Aldous, D. J. (1985), Exchangeability and related topics, section 11 (the process, from
memory); the twelve and the strength 1 are common practice without a source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from math import lgamma, log, prod

from tubside.panel.display import plain
from tubside.panel.lights import SOUNDS
from tubside.panel.misreading import RATES, MisreadRates, lamp_row, sayable, sound_row
from tubside.panel.quick_sketch import Look

SHOWN_BY_A_PANEL = 12
CUSTOMER = RATES["customer"]
CLEARLY = 0.75
"""A report counts for a group when it belongs to it with this chance (by judgement)."""


@dataclass(frozen=True, slots=True)
class Group:
    """Places of the reports that show one look, in order, and that look."""

    members: tuple[int, ...]
    look: Look


@lru_cache(maxsize=20_000)
def chance_told(told: Look, true: Look, rates: MisreadRates = CUSTOMER) -> float:
    """P(told | true look); what is not sure in either carries nothing."""
    own = _each(told, told, rates)
    wholly = rates.another_message
    return (1 - wholly) * _each(told, true, rates) + wholly / SHOWN_BY_A_PANEL * own


def _each(told: Look, true: Look, rates: MisreadRates) -> float:
    words = sayable(counts=True)
    factors = [
        float(lamp_row(light, rates, counts=True)[words.index(said)])
        for said, light in zip(told.lights, true.lights, strict=True)
        if said is not None and light is not None
    ]
    if told.sound is not None and true.sound is not None:
        factors.append(float(sound_row(true.sound, rates)[SOUNDS.index(told.sound)]))
    if told.display and true.display:
        same = plain(told.display) == plain(true.display)
        wrong = rates.display_wrong
        factors.append(1 - wrong if same else wrong / SHOWN_BY_A_PANEL)
    return prod(factors)


def grouped(reports: Sequence[Look], apart: int = 0, rates: MisreadRates = CUSTOMER) -> list[Group]:
    """The reports parted into groups, the largest first.

    Parameters
    ----------
    reports
        What each person told of one panel; all name the same number of lamps.
    apart
        The first so many are known indications, and no two of them are joined.
    """
    groups = _alike(reports, apart)
    while step := _best_join(groups, reports, apart, rates):
        groups = step
    return sorted(groups, key=lambda it: (-len(it.members), it.members))


def _alike(reports: Sequence[Look], apart: int) -> list[Group]:
    """Reports that say the very same together, as no parting of them weighs more."""
    first = dict[Look, list[int]]()
    for n, look in enumerate(reports):
        first.setdefault(look, []).append(n)
    found = []
    for look, members in first.items():
        known = [n for n in members if n < apart]
        found += [Group((n,), look) for n in known[1:]]
        found.append(Group(tuple(n for n in members if n not in known[1:]), look))
    return found


def _best_join(
    groups: Sequence[Group], reports: Sequence[Look], apart: int, rates: MisreadRates
) -> list[Group]:
    """The groups with the two joined that gain most; none when no two gain."""
    best, found = 0.0, list[Group]()
    for one, other in combinations(groups, 2):
        members = (*one.members, *other.members)
        if sum(n < apart for n in members) > 1:
            continue
        whole = _group(members, reports, apart, rates)
        gain = _gain(one, other, whole, reports, rates)
        if gain > best:
            best, found = gain, [*(it for it in groups if it not in (one, other)), whole]
    return found


def weight(groups: Sequence[Group], reports: Sequence[Look], rates: MisreadRates) -> float:
    """Log weight of one parting of the reports."""
    return sum(_log_weight(group, reports, rates) for group in groups)


def clear_members(
    groups: Sequence[Group], reports: Sequence[Look], rates: MisreadRates = CUSTOMER
) -> list[Group]:
    """Each group with those of its reports that are hardly of any other look.

    The odds of a look are the other reports that show it times P(told | look); those of
    a look not seen before are 1 / 12 of a perfect match.
    """
    found = []
    for group in groups:
        clear = []
        for n in group.members:
            odds = [  # of the other reports, or one where there are none
                (len(it.members) - (n in it.members) or 1.0)
                * chance_told(reports[n], it.look, rates)
                for it in groups
            ]
            new = chance_told(reports[n], reports[n], rates) / SHOWN_BY_A_PANEL
            mine = odds[list(groups).index(group)]
            alone = len(group.members) == 1
            if alone or mine >= CLEARLY * (sum(odds) + new):
                clear.append(n)
        found.append(Group(tuple(clear), group.look))
    return found


def _group(
    members: tuple[int, ...], reports: Sequence[Look], apart: int, rates: MisreadRates
) -> Group:
    """Members in order, with the look among theirs that explains them best."""
    ordered = tuple(sorted(members))
    known = [reports[n] for n in ordered if n < apart]
    told = Counter(reports[n] for n in ordered)

    def explains(look: Look) -> tuple[int, float]:
        chance = sum(times * log(chance_told(it, look, rates)) for it, times in told.items())
        return sum(light is not None for light in look.lights), chance

    return Group(ordered, max(known or told, key=explains))


def _gain(
    one: Group, other: Group, whole: Group, reports: Sequence[Look], rates: MisreadRates
) -> float:
    apart = _log_weight(one, reports, rates) + _log_weight(other, reports, rates)
    return _log_weight(whole, reports, rates) - apart


def _log_weight(group: Group, reports: Sequence[Look], rates: MisreadRates) -> float:
    told = Counter(reports[n] for n in group.members)
    chance = sum(times * log(chance_told(it, group.look, rates)) for it, times in told.items())
    return chance + lgamma(len(group.members)) - log(SHOWN_BY_A_PANEL)
