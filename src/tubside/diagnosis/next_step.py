"""The next step: every step looked at one ahead, the best dozen two ahead, by money."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tubside.diagnosis.belief import Belief
from tubside.diagnosis.evidence import Evidence
from tubside.diagnosis.leaf import Collapsed, PhonePlan, collapse, phone_leaf, site_leaf
from tubside.diagnosis.options import (
    CheckOption,
    Options,
    RemedyOption,
    fewer_rows,
    open_options,
    without_finding,
)
from tubside.diagnosis.situation import Situation, scrap_cost
from tubside.pack.fault_model import FaultModel, Floats

AHEAD_ROWS = 150
AHEAD_STEPS = 12
LEAST_GAIN_BITS = 0.01
LEAST_BRANCH = 2e-3


@dataclass(frozen=True, slots=True)
class Step:
    """One step and the expected total cost of the job if it comes next.

    ``kind`` is check, remedy, refer, visit, scrap or return; ``index`` counts
    within its kind (stops for refer, scrap and return). ``works`` is the chance
    that a remedy ends the trouble. ``ahead`` tells how many steps were looked at.
    """

    kind: str
    index: int
    cost: float
    minutes: float
    expected_cost: float
    works: float = 0.0
    ahead: int = 1


@dataclass(frozen=True, slots=True)
class Place:
    """Where the next step happens: on site, or on the phone with a visit to come."""

    here: Options
    phone: PhonePlan | None
    callback: float
    scrap: float

    def leaf(self, belief: Collapsed, bit_cost: float) -> Floats:
        """Expected cost from a belief on (B,)."""
        if self.phone is None:
            return site_leaf(self.here, belief, bit_cost)
        return phone_leaf(self.phone, belief, bit_cost)


def place(
    model: FaultModel, evidence: Evidence, belief: Belief, situation: Situation
) -> Place:
    """All that is open in this situation."""
    here = open_options(model, evidence, belief, situation)
    phone = None
    if not situation.on_site:
        site = open_options(model, evidence, belief, replace(situation, on_site=True))
        phone = PhonePlan.of(here, site)
    scrap = scrap_cost(model, situation.age_years)
    return Place(here, phone, model.costs.callback, scrap)


def best_steps(
    model: FaultModel, evidence: Evidence, belief: Belief, situation: Situation,
    ahead_steps: int = AHEAD_STEPS, ahead_rows: int = AHEAD_ROWS,
) -> list[Step]:  # fmt: skip
    """Steps by expected total cost, the best ones looked at two ahead."""
    where = place(model, evidence, belief, situation)
    steps = [*one_step(where, belief.probability), *endings(model, situation)]
    steps.sort(key=_by_cost)
    keep = np.argsort(-belief.probability, kind="stable")[:ahead_rows]
    small = _fewer(where, keep)
    weight = belief.probability[keep] / belief.probability[keep].sum()
    front = [two_step(small, weight, step) for step in steps[:ahead_steps]]
    front.sort(key=_by_cost)
    return [*front, *steps[ahead_steps:]]


def one_step(where: Place, probability: Floats) -> list[Step]:
    """Every step, with the leaf after it."""
    options = where.here
    now, _ = collapse(probability[:, None], options)
    checks, bit_cost = _check_steps(where, probability, float(now.entropy_bits()[0]))
    remedies = [
        _remedy_step(where, probability, option, kind, bit_cost)
        for kind, found in (("remedy", options.remedies), ("refer", options.refers))
        for option in found
    ]
    visits = [] if where.phone is None else [_visit(where, now, bit_cost)]
    return [*checks, *remedies, *visits]


def two_step(where: Place, probability: Floats, step: Step) -> Step:
    """The same step with one more step after it, taken as well as possible."""
    if step.kind == "check":
        option = next(c for c in where.here.checks if c.index == step.index)
        return replace(step, expected_cost=_check_ahead(where, probability, option), ahead=2)
    if step.kind in {"remedy", "refer"}:
        found = where.here.remedies if step.kind == "remedy" else where.here.refers
        option_r = next(r for r in found if r.index == step.index)
        value = _remedy_ahead(where, probability, option_r, step.kind)
        return replace(step, expected_cost=value, ahead=2)
    if step.kind == "visit" and where.phone is not None:
        site = replace(where, here=where.phone.site, phone=None)
        value = where.here.visit_cost + _cheapest(site, probability)
        return replace(step, expected_cost=value, ahead=2)
    return step


def endings(model: FaultModel, situation: Situation) -> list[Step]:
    """Ends without repair that are open: not worth repairing, back to seller or insurer."""
    result = []
    for number, stop in enumerate(model.stops):
        if stop.kind == "scrap":
            cost = scrap_cost(model, situation.age_years)
            result.append(Step("scrap", number, cost, 0.0, cost))
        young = situation.age_years is not None and situation.age_years < stop.up_to_years
        if stop.kind == "return" and young:
            result.append(Step("return", number, stop.cost, 0.0, stop.cost))
    return result


def _by_cost(step: Step) -> tuple[float, str, int]:
    return (step.expected_cost, step.kind, step.index)


def _check_steps(
    where: Place, probability: Floats, doubt: float
) -> tuple[list[Step], float]:
    """All checks, and the least cost of a bit among them [dollars per bit]."""
    checks = where.here.checks
    if not checks:
        return [], 1e3
    starts = np.cumsum([0, *(c.said.shape[1] for c in checks)])
    weights = np.concatenate([c.said for c in checks], axis=1) * probability[:, None]
    after, chance = collapse(weights, where.here)
    bits = chance * after.entropy_bits()
    gain = doubt - np.add.reduceat(bits, starts[:-1])
    cost = np.array([c.cost for c in checks])
    useful = gain > LEAST_GAIN_BITS
    bit_cost = float((cost[useful] / gain[useful]).min()) if useful.any() else 1e3
    value = np.add.reduceat(chance * where.leaf(after, bit_cost), starts[:-1]) + cost
    steps = [
        Step("check", c.index, c.cost, c.minutes, float(v))
        for c, v in zip(checks, value, strict=True)
    ]
    return steps, bit_cost


def _remedy_step(
    where: Place, probability: Floats, option: RemedyOption, kind: str, bit_cost: float
) -> Step:
    failed, passed_by = _after_remedy(where.here, probability, option)
    total = float(failed.total)
    value = option.cost + where.callback * passed_by
    if total > 0.0:
        value += total * float(where.leaf(failed.belief, bit_cost)[0])
    works = 1.0 - total - passed_by
    return Step(kind, option.index, option.cost, option.minutes, value, works)


def _visit(where: Place, now: Collapsed, bit_cost: float) -> Step:
    assert where.phone is not None
    cost = where.here.visit_cost
    value = cost + float(site_leaf(where.phone.site, now, bit_cost)[0])
    return Step("visit", 0, cost, 0.0, value)


@dataclass(frozen=True, slots=True)
class _Failed:
    """What is believed when the re-run fails, and how likely that is."""

    belief: Collapsed
    total: float


def _after_remedy(
    options: Options, probability: Floats, option: RemedyOption
) -> tuple[_Failed, float]:
    """Belief if the re-run fails, and P(the re-run passes though a cause is left)."""
    cleared, weight = _failing(options, probability, option)
    fails = weight * options.shows
    inside = options.member * (1.0 - option.clears)
    touched = np.flatnonzero((options.member @ (option.clears > 0)) > 0)
    share, member = options.share, options.member
    if len(touched):
        left = inside[touched] / np.maximum(1.0 - cleared[touched], 1e-12)[:, None]
        member = member.copy()
        share = share.copy()
        member[touched] = np.minimum(left, options.member[touched])
        share[touched] = left / np.maximum(left.sum(axis=1, keepdims=True), 1e-12)
    total = float(fails.sum())
    scale = max(total, 1e-300)
    main, present = (fails @ share)[None, :] / scale, (fails @ member)[None, :] / scale
    belief = Collapsed(main, present, np.zeros(1))
    return _Failed(belief, total), float((weight * (1.0 - options.shows)).sum())


def _failing(
    options: Options, probability: Floats, option: RemedyOption
) -> tuple[Floats, Floats]:
    """P(all causes of the row cleared), and probability that something is left."""
    with np.errstate(divide="ignore"):
        log_clear = np.maximum(np.log(option.clears), -60.0)
    cleared = np.exp(options.member @ log_clear)
    return cleared, probability * np.where(options.member.any(axis=1), 1.0 - cleared, 0.0)


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
            value += chance * float(where.leaf(belief, 1e3)[0])
    return value


def _remedy_ahead(
    where: Place, probability: Floats, option: RemedyOption, kind: str
) -> float:
    """Value with one more step after a failed re-run; partly cleared rows move on."""
    options = where.here
    _, weight = _failing(options, probability, option)
    value = option.cost + where.callback * float((weight * (1.0 - options.shows)).sum())
    fails = _moved(options, probability, option) * options.shows
    total = float((weight * options.shows).sum())
    if total > LEAST_BRANCH and fails.sum() > 0.0:
        value += total * _cheapest(_without_remedy(where, option, kind), fails / fails.sum())
    elif total > 0.0:
        failed, _ = _after_remedy(options, probability, option)
        value += total * float(where.leaf(failed.belief, 1e3)[0])
    return value


def _moved(options: Options, probability: Floats, option: RemedyOption) -> Floats:
    """Row weights after a remedy that did not end the trouble.

    A pair of which one cause was cleared moves to the row of the other alone,
    where that row is kept.
    """
    stays = np.exp(options.member @ np.log1p(-np.minimum(option.clears, 1.0 - 1e-12)))
    sound = ~options.member.any(axis=1)
    moved = np.where(sound, 0.0, probability * stays)
    count = options.member.sum(axis=1)
    alone = {int(row.argmax()): n for n, row in enumerate(options.member) if row.sum() == 1.0}
    for row in np.flatnonzero((count == 2.0) & (stays < 1.0)):
        first, second = np.flatnonzero(options.member[row])
        for gone, left in ((first, second), (second, first)):
            chance = option.clears[gone] * (1.0 - option.clears[left])
            if int(left) in alone:
                moved[alone[int(left)]] += probability[row] * chance
    return np.asarray(moved)


def _without_remedy(where: Place, option: RemedyOption, kind: str) -> Place:
    here = where.here
    if kind == "remedy":
        left = tuple(r for r in here.remedies if r.index != option.index)
        return replace(where, here=replace(here, remedies=left))
    left = tuple(r for r in here.refers if r.index != option.index)
    return replace(where, here=replace(here, refers=left))


def _fewer(where: Place, keep: np.ndarray[tuple[int], np.dtype[np.int64]]) -> Place:
    here = fewer_rows(where.here, keep)
    phone = where.phone
    if phone is not None:
        phone = replace(phone, phone=here, site=fewer_rows(phone.site, keep))
    return replace(where, here=here, phone=phone)
