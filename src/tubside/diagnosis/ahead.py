"""Looking two steps ahead, for the steps that look best one ahead.

The dozen best steps are followed through each of their outcomes, and from there
once more through every step that is open, over the heaviest rows of the belief.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tubside.diagnosis.belief import Belief, heaviest_rows
from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.leaf import PhonePlan, collapse
from tubside.diagnosis.next_step import (
    Place,
    Step,
    by_cost,
    endings,
    one_step,
    place,
    some_left,
    tried,
)
from tubside.diagnosis.options import (
    CheckOption,
    Options,
    RemedyOption,
    fewer_rows,
    without_finding,
    without_remedy,
)
from tubside.diagnosis.situation import Situation
from tubside.pack.fault_model import FaultModel, Floats

AHEAD_ROWS = 150
AHEAD_STEPS = 12
LEAST_BRANCH = 2e-3
FEW_ROWS = 1000
ENOUGH_BELIEF = 0.999
"""Share of belief over which steps are looked at one ahead; the rest moves no value by
more than about a thousandth, and costs as much time as all of this."""


def best_steps(
    model: FaultModel,
    evidence: Evidence,
    belief: Belief,
    situation: Situation,
    ahead: tuple[int, int] = (AHEAD_STEPS, AHEAD_ROWS),
) -> list[Step]:
    """Steps by expected total cost; ``ahead`` is how many are followed, over how many rows."""
    count, rows = ahead
    belief = enough_rows(belief)
    heaviest = heaviest_rows(belief, rows)
    where = place(model, evidence, belief, situation, heaviest)
    steps = [*one_step(where, belief.probability), *endings(model, situation)]
    steps.sort(key=by_cost)
    small = narrowed(where, belief, rows)
    front = [two_step(small, heaviest.probability, step) for step in steps[:count] if step.pays]
    front.sort(key=by_cost)
    later = [step for step in steps[count:] if step.pays]
    return [*front, *later, *(step for step in steps if not step.pays)]


def enough_rows(belief: Belief) -> Belief:
    """The heaviest rows that hold nearly all belief, where there are many rows."""
    if len(belief.probability) <= FEW_ROWS:
        return belief
    held = np.cumsum(-np.sort(-belief.probability))
    count = int(np.searchsorted(held, ENOUGH_BELIEF)) + 1
    return heaviest_rows(belief, max(count, FEW_ROWS))


def narrowed(where: Place, belief: Belief, rows: int) -> Place:
    """The same place over the heaviest rows of the belief."""
    keep = np.argsort(-belief.probability, kind="stable")[:rows]
    here = fewer_rows(where.here, keep)
    phone = None if where.phone is None else replace(where.phone, phone=here)
    return replace(where, here=here, phone=phone)


def two_step(where: Place, probability: Floats, step: Step) -> Step:
    """The same step with one more step after it, taken as well as possible."""
    here = where.here
    if step.kind == "check":
        option = next(c for c in here.checks if c.index == step.index)
        return replace(step, expected_cost=_check_ahead(where, probability, option), ahead=2)
    if step.kind in {"remedy", "refer"}:
        found = here.remedies if step.kind == "remedy" else here.refers
        remedy = next(r for r in found if r.index == step.index)
        later = after_remedy(where, remedy, step.kind)
        value = _remedy_ahead(where, later, probability, remedy)
        return replace(step, expected_cost=value, ahead=2)
    if step.kind == "visit" and where.phone is not None:
        site = replace(where, here=where.phone.site, phone=None)
        return replace(step, expected_cost=here.visit_cost + _cheapest(site, probability), ahead=2)
    return step


def after_remedy(where: Place, used: RemedyOption, kind: str) -> Place:
    """The same place with a remedy or referral used up, by the leaf's account too."""
    here = without_remedy(where.here, used, kind)
    if where.phone is None:
        return replace(where, here=here)
    phone = PhonePlan.of(here, where.phone.site, where.phone.site_bit_cost)
    return replace(where, here=here, phone=phone)


def _cheapest(where: Place, probability: Floats) -> float:
    best = min((s.expected_cost for s in one_step(where, probability)), default=np.inf)
    return float(min(best, where.here.stop_cost))


def _check_ahead(where: Place, probability: Floats, option: CheckOption) -> float:
    later = replace(where, here=without_finding(where.here, option.finding, option.index))
    value = option.cost
    for outcome in range(option.said.shape[1]):
        weight = probability * option.said[:, outcome]
        chance = float(weight.sum())
        if chance > LEAST_BRANCH:
            value += chance * _cheapest(later, weight / chance)
        elif chance > 0.0:
            belief, _ = collapse(weight[:, None], where.here)
            value += chance * float(where.leaf(belief, where.here.stop_cost)[0])
    return value


def _remedy_ahead(where: Place, later: Place, probability: Floats, option: RemedyOption) -> float:
    """Value with one more step after a failed re-run."""
    tries = tried(where.here, probability, [option])
    fails = float(tries.fails[0])
    value = option.cost + where.callback * float(tries.hidden[0])
    moved = _moved(where.here, probability, option) * where.here.shows
    if fails > LEAST_BRANCH and moved.sum() > 0.0:
        value += fails * _cheapest(later, moved / moved.sum())
    elif fails > 0.0:
        value += fails * float(later.leaf(tries.belief, where.here.stop_cost)[0])
    return value


def _moved(options: Options, probability: Floats, option: RemedyOption) -> Floats:
    """Row weights after a remedy that did not end the trouble.

    A pair of which one cause was cleared moves to the row of the other alone,
    where that row is kept.
    """
    stays = np.exp(options.member @ np.log1p(-np.minimum(option.clears, 1.0 - 1e-12)))
    moved = np.where(some_left(options, option.clears[None, :])[:, 0] > 0, probability * stays, 0.0)
    count = options.member.sum(axis=1)
    alone = {int(options.member[n].argmax()): int(n) for n in np.flatnonzero(count == 1.0)}
    for row in np.flatnonzero((count == 2.0) & (stays < 1.0)):
        first, second = (int(i) for i in np.flatnonzero(options.member[row]))
        for gone, left in ((first, second), (second, first)):
            if left in alone:
                chance = option.clears[gone] * (1.0 - option.clears[left])
                moved[alone[left]] += probability[row] * chance
    return np.asarray(moved)
