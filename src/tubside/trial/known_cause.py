"""What a call would cost if its causes were known at once: the ground under every policy."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.situation import Situation, minute_cost, remedy_minutes, stop_cost
from tubside.pack.fault_model import CUSTOMER, TECHNICIAN, FaultModel
from tubside.trial.answering import has_construction
from tubside.trial.job import Job, longer_wait


@dataclass(frozen=True, slots=True)
class Known:
    """Least cost with the causes known, and whether that is by phone, with carried parts, ..."""

    cost: float
    way: str  # nothing, phone, carried, ordered, ended


def known_cause(job: Job) -> Known:
    """Least expected cost of clearing all that is wrong, told at the call.

    Each cause is cleared by the cheapest remedy that may work on this machine, paid as
    often as it takes on average; one visit serves all; a part that is not aboard is
    ordered before it, with its wait but without a second trip. Ending the job is open too.
    """
    model, causes = job.shop.model, np.flatnonzero(job.machine.left)
    if not len(causes):
        return Known(0.0, "nothing")
    end = stop_cost(model, job.situation.age_years)
    by_phone = [_cheapest(job, int(i), CUSTOMER) for i in causes]
    on_site = [_cheapest(job, int(i), TECHNICIAN) for i in causes]
    referred = [_referred(model, int(i)) for i in causes]
    total, visits, way = 0.0, False, "phone"
    for phone, site, refer in zip(by_phone, on_site, referred, strict=True):
        trip = 0.0 if visits else model.costs.visit
        best = min(phone[0], site[0] + trip, refer)
        total += best
        if best == site[0] + trip < phone[0]:
            visits, way = True, "ordered" if site[1] or way == "ordered" else "carried"
        elif best == refer < phone[0]:
            way = "ended"
    return Known(total, way) if total < end else Known(end, "ended")


def _cheapest(job: Job, cause: int, who: int) -> tuple[float, bool]:
    """(cost, whether a part must be ordered) of clearing one cause; inf where nobody can."""
    model, best = job.shop.model, (np.inf, False)
    place = _site(job.situation) if who == TECHNICIAN else job.situation
    for number, remedy in enumerate(model.remedies):
        asked = who == TECHNICIAN or bool(job.situation.customer_remedies[number])
        reachable = remedy.phone if who == CUSTOMER else True
        clears = float(job.machine.world.remedies[number].clears[who][cause])
        may = asked and reachable and who in remedy.by
        if not may or not clears or not has_construction(job.machine, remedy.needs):
            continue
        minutes = remedy_minutes(model, remedy, place)
        cost = minutes * minute_cost(model, on_site=who == TECHNICIAN)
        parts = list(remedy.parts)
        cost += float(model.part_price[parts].sum())
        ordered = bool(parts) and not bool(job.situation.aboard[parts].all())
        if ordered:
            cost += longer_wait(model)
        best = min(best, (cost / clears, ordered))
    return best


def _site(situation: Situation) -> Situation:
    return Situation(
        on_site=True,
        aboard=situation.aboard,
        open_covers=frozenset(),
        answered=frozenset(),
        tried=frozenset(),
        customer_checks=situation.customer_checks,
        customer_remedies=situation.customer_remedies,
        age_years=situation.age_years,
    )


def _referred(model: FaultModel, cause: int) -> float:
    costs = [stop.cost for stop in model.stops if stop.kind == "refer" and stop.clears[cause]]
    return min(costs, default=np.inf)
