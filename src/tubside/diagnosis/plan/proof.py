"""A proven lower bound on the cost of every plan, and what it says of the advised one.

Knowing what is wrong, for nothing, never makes a job dearer: the mean cost with it
known is a lower bound (:mod:`tubside.diagnosis.plan.known`). It is raised by looking one
step ahead: whatever comes first costs something, and what it leaves costs at least
that mean again, or another step. Sets of causes that were not laid out cost at least
nothing, so the bound is scaled by what was laid out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tubside.diagnosis.plan.known import Known
from tubside.diagnosis.plan.looking import LookTable, look_table
from tubside.diagnosis.plan.staged import PHONE, SITE, Staged
from tubside.diagnosis.plan.stand import (
    Stand,
    after_order,
    after_visit,
    after_way,
    at_start,
    cover_minutes,
    missing_parts,
    moves_of,
    open_ways,
    opened,
    way_cost,
)
from tubside.diagnosis.plan.walking import SIDE, Walked
from tubside.pack.fault_model import Floats

WORTH_SAYING = 0.15


@dataclass(frozen=True, slots=True)
class Certificate:
    """What is proven: no plan is cheaper than ``lower`` by the pack's numbers [dollars].

    ``upper`` is the advised plan's cost, of which ``error`` is the standard error, 0 if it
    is exact; ``left_out`` bounds the chance of what was not laid out.
    """

    lower: float
    upper: float
    error: float
    left_out: float

    @property
    def gap(self) -> float:
        """How much cheaper another plan can be at most, as a share of the upper bound."""
        top = self.upper + SIDE * self.error
        return max(1.0 - self.lower / top, 0.0) if top > 0.0 else 0.0

    @property
    def worth_saying(self) -> bool:
        """Whether it is strong enough to be shown."""
        return self.gap <= WORTH_SAYING


def certificate(
    staged: Staged, known: Known, walked: Walked, exact: float | None = None
) -> Certificate:
    """The certificate of a walked plan; ``exact`` is its cost where that is known.

    What was not laid out may follow the dearest walk, or cost nothing to mend.
    """
    left_out = staged.belief.left_out
    dearest = max(walk.cost for walk in walked.walks)
    lower = (1.0 - left_out) * lower_bound(staged, known)
    mean = walked.mean if exact is None else exact
    upper = (1.0 - left_out) * mean + left_out * dearest
    error = walked.error if exact is None else 0.0
    return Certificate(lower, max(upper, lower), error, left_out)


def lower_bound(staged: Staged, known: Known) -> float:
    """Least expected cost of any plan from the start over these rows [dollars]."""
    stand, weight = at_start(staged), staged.weight
    return max(float(known.rows(stand) @ weight), _one_ahead(staged, known, stand))


def _one_ahead(staged: Staged, known: Known, stand: Stand) -> float:
    """Least over all first steps of its cost and of the bound on what comes after it."""
    now = float(known.rows(stand) @ staged.weight)
    wasted = _wasted(staged, known, stand)
    others = now + float((staged.weight @ wasted).min())
    table = look_table(staged, stand)
    if not len(table.numbers):
        return others
    looks = _after_looks(staged, known, stand, table, wasted)
    return min(others, float(looks.min()))


def _after_looks(
    staged: Staged, known: Known, stand: Stand, table: LookTable, wasted: Floats
) -> Floats:
    """Cost of each look and the bound on what comes after it: (looks,).

    After an answer another step must come: one more look, or a step that is no look.
    """
    least = np.sort(table.cost)
    second = least[1] if len(least) > 1 else staged.prices.stop
    other = np.repeat(np.where(table.cost == least[0], second, least[0]), table.size)
    after = table.said * staged.weight[:, None]
    total = after.sum(axis=0)
    more = np.minimum(other * total, (wasted.T @ after).min(axis=0))
    shut = np.array([cover_minutes(staged, stand, int(c)) > 0.0 for c in table.cover])
    more = np.where(np.repeat(shut, table.size), 0.0, np.maximum(more, 0.0))
    value = table.cost + np.add.reduceat(more, table.starts)
    for cover in np.unique(table.cover):
        behind = table.cover == cover
        least = known.rows(replace(stand, open=opened(stand, int(cover)))) @ staged.weight
        value[behind] += float(least)
    return value


def _wasted(staged: Staged, known: Known, stand: Stand) -> Floats:
    """What each step but a look costs more than the best one, for each row if known: (N, steps).

    The last are ending the job, going there, and ordering whatever may be wanted.
    """
    now, prices = known.rows(stand), staged.prices
    columns = [prices.stop - now]
    ways = open_ways(staged, stand)
    columns += [_way_wasted(staged, known, stand, number) - now for number in ways]
    if stand.place == PHONE:
        columns.append(prices.visit + known.rows(after_visit(stand)) - now)
    wanted = frozenset(part for parts in missing_parts(staged, stand) for part in parts)
    if wanted:
        later = after_order(stand, wanted)
        wait = prices.trip if stand.place == SITE else prices.delay
        columns.append(wait + known.rows(replace(later, ordered=stand.ordered)) - now)
    return np.array(columns).T


def _way_wasted(staged: Staged, known: Known, stand: Stand, number: int) -> Floats:
    """Cost of a remedy now and of what is left after it, for each row if known: (N,)."""
    way, later = staged.ways[number], after_way(staged, stand, number)
    fails, hidden = known.rows(later), known.hidden(later.used)
    shows = staged.row_shows
    left = np.where(staged.sound, 0.0, shows * fails + (1.0 - shows) * hidden)
    after = left.copy()
    moves = moves_of(staged, number)
    if moves:
        source = moves[0][0]
        after[source] = sum(left[target] * chance for _, target, chance in moves)
    again = known.rows(replace(stand, used=later.used)) if way.refused else 0.0
    cost = way_cost(staged, stand, way)[0]
    return np.asarray(cost + way.refused * again + (1.0 - way.refused) * after)
