"""Where a plan stands, what may be done there, what it costs, and what may come of it.

Weights of rows are not normalised: their sum is the chance of standing there at all.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from tubside.diagnosis.plan.staged import PHONE, SITE, Staged, StagedLook, Way, with_nothing_learned
from tubside.pack.fault_model import Floats, Ints

Heard = tuple[tuple[int, tuple[float, ...]], ...]


@dataclass(frozen=True, slots=True)
class Stand:
    """What has been done and what is at hand; equal stands allow the same steps at equal cost.

    ``ordered`` are parts bought for this job: of their price only what a return would not
    bring back is still to be paid when they are fitted. ``heard`` are likelihoods of the
    states of findings from answers given since the problem was laid out.
    """

    place: int
    visits: int
    looked: frozenset[int]
    used: frozenset[int]
    aboard: frozenset[int]
    ordered: frozenset[int]
    open: frozenset[int]
    heard: Heard = ()


@dataclass(frozen=True, slots=True)
class Branch:
    """One outcome of a step, or its end when ``stand`` is None.

    ``extra`` is what is then still to pay, summed over the rows and weighted by their
    chance: the callback of a fault that hides.
    """

    said: str  # answer, nothing, refused, fails, works, done
    outcome: int
    stand: Stand | None
    weight: Floats  # (N,)
    extra: float = 0.0


def at_start(staged: Staged) -> Stand:
    """Where the job stands now."""
    nothing: frozenset[int] = frozenset()
    visits = 1 if staged.place == SITE else 0
    place, aboard = staged.place, staged.aboard
    return Stand(place, visits, nothing, nothing, aboard, nothing, staged.open_covers)


def open_looks(staged: Staged, stand: Stand) -> list[int]:
    """Looks that may be taken there."""
    return [
        number
        for number, look in enumerate(staged.looks)
        if look.place == stand.place and number not in stand.looked
    ]


def open_ways(staged: Staged, stand: Stand) -> list[int]:
    """Remedies and referrals that may be done there with what is aboard."""
    return [
        number
        for number, way in enumerate(staged.ways)
        if stand.place in way.places and number not in stand.used and way.parts <= stand.aboard
    ]


def missing_parts(staged: Staged, stand: Stand) -> list[frozenset[int]]:
    """Parts that some remedy on site still wants and that are not aboard, each set once."""
    found = {
        way.parts - stand.aboard
        for number, way in enumerate(staged.ways)
        if SITE in way.places and number not in stand.used and not way.parts <= stand.aboard
    }
    return sorted(found, key=sorted)


def cover_minutes(staged: Staged, stand: Stand, cover: int) -> float:
    """Minutes to open and close a cover, if it is still shut."""
    shut = cover >= 0 and cover not in stand.open
    return float(staged.prices.cover[cover]) if shut else 0.0


def look_cost(staged: Staged, stand: Stand, look: StagedLook) -> tuple[float, float]:
    """Cost [dollars] and minutes of a look."""
    minutes = look.minutes + cover_minutes(staged, stand, look.cover)
    return minutes * staged.prices.minute[stand.place], minutes


def way_cost(staged: Staged, stand: Stand, way: Way) -> tuple[float, float]:
    """Cost [dollars] and minutes of a remedy or a referral."""
    minutes = way.minutes + cover_minutes(staged, stand, way.cover)
    cost = minutes * staged.prices.minute[stand.place] + way.fee
    return cost + parts_price(staged, stand, way.parts), minutes


def parts_price(staged: Staged, stand: Stand, parts: frozenset[int]) -> float:
    """Price of parts when fitted; ordered ones are partly paid already [dollars]."""
    prices = staged.prices
    kept = 1.0 - prices.restocking
    return float(sum(prices.part[p] * (kept if p in stand.ordered else 1.0) for p in parts))


def order_cost(staged: Staged, stand: Stand, parts: frozenset[int]) -> float:
    """Cost of ordering: what a return would lose, and the wait or the second trip [dollars]."""
    prices = staged.prices
    lost = prices.restocking * float(sum(prices.part[p] for p in parts))
    if stand.place == SITE:
        return lost + prices.trip
    return lost + (0.0 if stand.ordered else prices.delay)


def after_order(stand: Stand, parts: frozenset[int]) -> Stand:
    """With the parts aboard; on site, after coming back with them to shut covers."""
    later = replace(stand, aboard=stand.aboard | parts, ordered=stand.ordered | parts)
    if stand.place == PHONE:
        return later
    return replace(later, visits=stand.visits + 1, open=frozenset())


def after_visit(stand: Stand) -> Stand:
    """At the machine."""
    return replace(stand, place=SITE, visits=stand.visits + 1, open=frozenset())


def opened(stand: Stand, cover: int) -> frozenset[int]:
    """Covers off after a step behind this one."""
    return stand.open if cover < 0 else stand.open | {cover}


def said_now(staged: Staged, stand: Stand, number: int) -> Floats:
    """P(said | row, what was heard of the same finding): (N, k + 1)."""
    look = staged.looks[number]
    heard = dict(stand.heard).get(look.finding)
    if heard is None:
        return staged.said(number)
    state = staged.state(look.finding) * np.array(heard)
    total = state.sum(axis=1, keepdims=True)
    flat = 1.0 / state.shape[1]
    state = np.where(total > 0.0, state / np.maximum(total, 1e-300), flat)
    return with_nothing_learned(state @ look.told, look.usable)


def look_branches(staged: Staged, stand: Stand, number: int, weight: Floats) -> list[Branch]:
    """Every answer to a look, and the one that tells nothing."""
    said = said_now(staged, stand, number)
    last = said.shape[1] - 1
    return [
        Branch(
            "nothing" if outcome == last else "answer",
            outcome,
            after_look(staged, stand, number, outcome if outcome < last else -1),
            weight * said[:, outcome],
        )
        for outcome in range(said.shape[1])
    ]


def after_look(staged: Staged, stand: Stand, number: int, outcome: int) -> Stand:
    """Stand after an answer; -1 if nothing was learned.

    Who has seen a finding does not look at it again by another check; a question
    about the variant is put once, and what can only be asked is not asked again.
    """
    look = staged.looks[number]
    closed = {number}
    site = staged.tables.model.checks[look.check].site
    for other, one in enumerate(staged.looks):
        same_check = one.check == look.check and (look.finding < 0 or not site)
        same_place = one.place == look.place and 0 <= look.subject == one.subject
        if outcome >= 0 and (same_check or same_place):
            closed.add(other)
    heard = dict(stand.heard)
    if outcome >= 0 and look.finding >= 0 and _seen_again(staged, stand, look):
        before = np.array(heard.get(look.finding, np.ones(len(look.told))))
        heard[look.finding] = tuple(before * look.told[:, outcome])
    return replace(
        stand,
        looked=stand.looked | closed,
        open=opened(stand, look.cover),
        heard=tuple(sorted(heard.items())),
    )


def _seen_again(staged: Staged, stand: Stand, look: StagedLook) -> bool:
    """Whether somebody else may still look at the same finding."""
    return stand.place == PHONE and any(
        one.finding == look.finding and one.place == SITE for one in staged.looks
    )


def way_branches(
    staged: Staged, stand: Stand, number: int, weight: Floats, hidden: Floats
) -> list[Branch]:
    """A remedy refused, the re-run failing, and the re-run passing.

    ``hidden`` (N,) is the cost of a row that is left and does not show, by the stand after.
    """
    way = staged.ways[number]
    done = after_way(staged, stand, number)
    left = moved(staged, number, weight * (1.0 - way.refused))
    fails = left * staged.row_shows
    hides = np.where(staged.sound, 0.0, left - fails)
    result = [Branch("fails", 0, done, fails)]
    if way.refused and way.kind == "remedy":
        again = replace(stand, used=stand.used | {number})
        result.append(Branch("refused", -1, again, weight * way.refused))
    return [*result, Branch("works", 1, None, hides, float(hides @ hidden))]


def after_way(staged: Staged, stand: Stand, number: int) -> Stand:
    """Stand after a re-run that failed: answers on what the remedy touches are of before."""
    way = staged.ways[number]
    touches = frozenset(np.flatnonzero(way.clears).tolist())
    heard = tuple(pair for pair in stand.heard if not touches & staged.touched[pair[0]])
    return replace(stand, used=stand.used | {number}, open=opened(stand, way.cover), heard=heard)


def moved(staged: Staged, number: int, weight: Floats) -> Floats:
    """Weights of what is left after a remedy: (N,)."""
    result = weight.copy()
    moves = moves_of(staged, number)
    for source, _, _ in moves[:1]:
        result[source] = 0.0
    for _, target, chance in moves:
        np.add.at(result, target, weight[moves[0][0]] * chance)
    return result


def row_moves(staged: Staged, number: int, row: int) -> list[tuple[int, float]]:
    """What may be left of one row after a remedy, with its chance."""
    moves = moves_of(staged, number)
    found = np.flatnonzero(moves[0][0] == row) if moves else np.zeros(0, dtype=np.int64)
    if not len(found):
        return [(row, 1.0)]
    place = int(found[0])
    return [(int(t[place]), float(c[place])) for _, t, c in moves if c[place] > 0.0]


def moves_of(staged: Staged, number: int) -> tuple[tuple[Ints, Ints, Floats], ...]:
    """Rows that a remedy touches, and for each way it may go the row left and the chance."""
    if number not in staged.moves:
        staged.moves[number] = _moves(staged, staged.ways[number].clears)
    return staged.moves[number]


def _moves(staged: Staged, clears: Floats) -> tuple[tuple[Ints, Ints, Floats], ...]:
    causes = np.flatnonzero(clears)
    source = np.flatnonzero(staged.member[:, causes].any(axis=1))
    result = []
    for gone in product((False, True), repeat=len(causes)):
        left = staged.member[source].copy()
        chance = np.ones(len(source))
        for cause, cleared in zip(causes, gone, strict=True):
            there = staged.member[source, cause]
            rate = clears[cause] if cleared else 1.0 - clears[cause]
            chance *= np.where(there, rate, 0.0 if cleared else 1.0)
            left[:, cause] &= not cleared
        if chance.any():
            keys = [row.tobytes() for row in left]
            target = [staged.row_of[key] if p else 0 for key, p in zip(keys, chance, strict=True)]
            result.append((source, np.array(target, dtype=np.int64), chance))
    return tuple(result)
