"""Where the job stands: on the phone or on site, what is aboard, open, done, known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.belief import Belief
from tubside.diagnosis.evidence import Evidence, axis_vectors
from tubside.pack.fault_model import (
    CUSTOMER,
    TECHNICIAN,
    Bools,
    Check,
    FaultModel,
    Floats,
    Remedy,
)
from tubside.pack.prior import axis_mass

LEAST_APPLIES = 0.02
CANNOT_LOOK = (0.08, 0.01)
"""Chance that a customer / a technician ends with "not sure" or "could not look"
(common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Situation:
    """What may be done now and what it costs.

    ``customer_checks`` and ``customer_remedies`` say which steps may be asked of
    the customer at all (after a danger report: almost none).
    """

    on_site: bool
    aboard: Bools  # (parts,)
    open_covers: frozenset[int]
    answered: frozenset[tuple[int, int]]  # (check, observer)
    tried: frozenset[tuple[int, int]]  # (remedy, observer)
    customer_checks: Bools
    customer_remedies: Bools
    age_years: float | None = None

    @property
    def observer(self) -> int:
        """Who does the next step."""
        return TECHNICIAN if self.on_site else CUSTOMER


def values_believed(model: FaultModel, evidence: Evidence, belief: Belief) -> list[Floats]:
    """P(value) of each variant axis, in the light of the belief: one (v,) an axis."""
    sets, believed = belief.rows.sets.members, []
    for axis, vector in zip(model.prior.axes, axis_vectors(model, evidence), strict=True):
        weight = axis_mass(axis, sets) * (axis.shares * vector)
        total = weight.sum(axis=1, keepdims=True)
        believed.append(belief.probability @ (weight / np.where(total > 0.0, total, 1.0)))
    return believed


def values_if_there(model: FaultModel, evidence: Evidence) -> list[Floats]:
    """P(value | cause is there) of each variant axis: one (n, v) an axis, 0 if it cannot be."""
    result = []
    for axis, vector in zip(model.prior.axes, axis_vectors(model, evidence), strict=True):
        weight = np.tile(axis.shares * vector, (model.n_causes, 1))
        weight[axis.members] *= axis.applies
        total = weight.sum(axis=1, keepdims=True)
        result.append(weight / np.where(total > 0.0, total, 1.0))
    return result


def applies(values: list[Floats], needs: tuple[tuple[int, Bools], ...]) -> Floats:
    """P(this machine has the variants that a step needs), for values (..., v): (...)."""
    chance = np.ones(values[0].shape[:-1]) if values else np.ones(())
    for axis, allowed in needs:
        chance = chance * values[axis][..., allowed].sum(axis=-1)
    return np.asarray(chance)


def minute_cost(model: FaultModel, *, on_site: bool) -> float:
    """Cost of one minute [dollars]: on the phone the customer works too."""
    costs = model.costs
    return costs.technician_minute + (0.0 if on_site else costs.customer_minute)


def check_minutes(model: FaultModel, check: Check, situation: Situation) -> float:
    """Minutes for a check, opening and closing its cover if it is still shut."""
    return check.minutes + _cover(model, check.cover, situation)


def remedy_minutes(model: FaultModel, remedy: Remedy, situation: Situation) -> float:
    """Minutes for a remedy, its cover and the re-run."""
    return remedy.minutes + remedy.rerun_minutes + _cover(model, remedy.cover, situation)


def remedy_cost(model: FaultModel, remedy: Remedy, situation: Situation) -> float:
    """Cost of a remedy [dollars]: minutes, parts at buying price, a second trip if not aboard."""
    minutes = remedy_minutes(model, remedy, situation)
    cost = minutes * minute_cost(model, on_site=situation.on_site)
    if remedy.parts:
        parts = list(remedy.parts)
        cost += float(model.part_price[parts].sum())
        if not situation.aboard[parts].all():
            costs = model.costs
            cost += costs.second_visit + costs.waiting_day * costs.part_wait_days
    return cost


def may_check(situation: Situation, number: int, check: Check) -> bool:
    """Whether the one who is at the machine may look, and has not looked yet.

    What can only be asked is not asked again on site once the customer has answered.
    """
    observer = situation.observer
    if situation.on_site:
        asked = not check.site and (number, CUSTOMER) in situation.answered
        return not asked and (number, TECHNICIAN) not in situation.answered
    allowed = check.phone and observer in check.by and bool(situation.customer_checks[number])
    return allowed and not any((number, who) in situation.answered for who in (0, 1))


def may_remedy(situation: Situation, number: int, remedy: Remedy) -> bool:
    """Whether the one who is at the machine may do it, and has not done it yet."""
    if situation.on_site:
        return TECHNICIAN in remedy.by and (number, TECHNICIAN) not in situation.tried
    allowed = remedy.phone and CUSTOMER in remedy.by and bool(situation.customer_remedies[number])
    return allowed and not any((number, who) in situation.tried for who in (0, 1))


def scrap_cost(model: FaultModel, age_years: float | None) -> float:
    """Not worth repairing [dollars]: price of a replacement x share of life left + disposal.

    Share of life left = mean remaining life at this age over the mean life of a
    new machine, Weibull life; at unknown age, of the mean age at which it is asked.
    """
    costs = model.costs
    grid = np.linspace(0.0, 6.0 * costs.life_scale_years, 4000)
    alive = np.exp(-((grid / costs.life_scale_years) ** costs.life_shape))
    age = 7.0 if age_years is None else age_years
    later = grid >= age
    here = float(np.exp(-((age / costs.life_scale_years) ** costs.life_shape)))
    left = _area(alive[later], grid[later]) / max(here, 1e-12)
    return costs.replacement * min(left / _area(alive, grid), 1.0) + costs.disposal


def stop_cost(model: FaultModel, age_years: float | None) -> float:
    """Cheapest way to end the job without repair [dollars]; a replacement at most."""
    best = scrap_cost(model, age_years)
    for stop in model.stops:
        if stop.kind == "return" and age_years is not None and age_years < stop.up_to_years:
            best = min(best, stop.cost)
    return float(best)


def _cover(model: FaultModel, cover: int, situation: Situation) -> float:
    closed = cover >= 0 and cover not in situation.open_covers
    return float(model.cover_minutes[cover]) if closed else 0.0


def _area(height: Floats, grid: Floats) -> float:
    return float(np.sum((height[1:] + height[:-1]) * np.diff(grid)) / 2.0) if len(grid) > 1 else 0.0
