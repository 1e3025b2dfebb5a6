"""Ways to work a job: each looks at what is known and names the next step."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from tubside.diagnosis.ahead import AHEAD_STEPS, best_steps
from tubside.diagnosis.belief import Belief, believe
from tubside.diagnosis.next_step import Step
from tubside.diagnosis.plan.choosing import Chooser
from tubside.diagnosis.plan.known import Known
from tubside.diagnosis.plan.staged import narrowed, staged_job
from tubside.diagnosis.plan.stand import at_start
from tubside.diagnosis.situation import (
    applies,
    may_remedy,
    remedy_cost,
    values_if_there,
)
from tubside.pack.fault_model import FaultModel, Floats
from tubside.trial.confirming import confirmed, confirming_check
from tubside.trial.job import Job, Order

DEAR_PART = 20.0
"""Price above which the list wants its confirming check first [dollars]."""
STAGED_ROWS = 200
"""Rows of the belief over which an order is weighed against going without."""
VISIT = Step("visit", 0, 0.0, 0.0, 0.0)
GIVE_UP = Step("scrap", 0, 0.0, 0.0, 0.0)


class JobPolicy(Protocol):
    """A way to work a job."""

    @property
    def name(self) -> str:
        """What tables and drawings call it."""
        ...

    def choose(self, job: Job) -> Step:
        """The next step."""
        ...


def belief_of(job: Job) -> Belief:
    """Belief in the light of all facts of the job."""
    return believe(job.shop.model, job.evidence, job.shop.sets)


@dataclass(frozen=True, slots=True)
class Advised:
    """Ours: least expected cost to the end; ``ahead`` steps are followed further.

    Before a visit it orders the parts of which the plan says that waiting for them now is
    cheaper than going without.
    """

    rows: int = 100
    ahead: int = AHEAD_STEPS
    orders: bool = True
    name: str = "advised"

    def choose(self, job: Job) -> Step:
        """The first of the advised steps."""
        model, belief = job.shop.model, belief_of(job)
        steps = best_steps(model, job.evidence, belief, job.situation, (self.ahead, self.rows))
        if not steps:
            return GIVE_UP
        if steps[0].kind == "visit" and self.orders and not job.ordered:
            return ordered_first(job, belief) or steps[0]
        return steps[0]


def ordered_first(job: Job, belief: Belief) -> Step | None:
    """Parts to be ordered before the visit, where the staged plan finds that cheaper."""
    staged = staged_job(job.shop.model, job.evidence, belief, job.situation)
    heavy = narrowed(staged, STAGED_ROWS)
    moves = Chooser(heavy, Known(heavy)).moves(at_start(heavy), heavy.weight)
    going = min((m.value for m in moves if m.kind == "visit"), default=np.inf)
    orders = [m for m in moves if m.kind == "order" and m.value < going]
    if not orders:
        return None
    best = min(orders, key=lambda move: move.value)
    return Order("order", 0, 0.0, 0.0, best.value, parts=tuple(sorted(best.parts)))


@dataclass(frozen=True, slots=True)
class ByList:
    """The trade's list: for the condition reported, the likeliest cause first.

    On site a remedy that needs a part dearer than 20 waits for the check that best
    confirms its cause, where there is one; a check that speaks for health strikes the
    cause off the list. ``checks`` off is the plain list: replace and see. It takes no
    calls: in a trial all policies share one phone stage.
    """

    name: str
    checks: bool = True

    def choose(self, job: Job) -> Step:
        """The remedy, or its confirming check, of the next cause on the list."""
        if not job.situation.on_site:
            return VISIT
        model = job.shop.model
        steps = (self._about(job, int(cause)) for cause in causes_by_share(model, job.reported))
        return next((step for step in steps if step is not None), GIVE_UP)

    def _about(self, job: Job, cause: int) -> Step | None:
        """What the list does about one cause; None when it is struck off."""
        model = job.shop.model
        remedy = _best_remedy(job, cause)
        if remedy is None:
            return _refer(job, cause)
        price = float(model.part_price[list(model.remedies[remedy].parts)].sum())
        if self.checks and price > DEAR_PART:
            told = confirmed(job, cause)
            if told is False:
                return None
            check = confirming_check(job, cause) if told is None else None
            if check is not None:
                return Step("check", check, 0.0, 0.0, 0.0)
        return Step("remedy", remedy, 0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class ChanceOverCost:
    """P/C without checks: the remedy with the largest chance for its cost, until one works."""

    name: str = "P/C"

    def choose(self, job: Job) -> Step:
        """The remedy with the largest P/C, in the light of the re-runs so far."""
        if not job.situation.on_site:
            return VISIT
        model, now = job.shop.model, belief_of(job).now()
        best, chosen = 0.0, GIVE_UP
        for number in _open_remedies(job):
            chance = float(now @ model.remedies[number].clears[1])
            over = chance / remedy_cost(model, model.remedies[number], job.situation)
            if over > best:
                best, chosen = over, Step("remedy", number, 0.0, 0.0, 0.0)
        return chosen


def causes_by_share(model: FaultModel, condition: int) -> Floats:
    """Causes by how often they are behind a reported condition, the commonest first."""
    share = model.prior.odds * model.complaint.table[:, condition]
    order = np.argsort(-share, kind="stable")
    return np.asarray(order[share[order] > 0.0])


def _open_remedies(job: Job) -> list[int]:
    remedies = enumerate(job.shop.model.remedies)
    return [number for number, remedy in remedies if may_remedy(job.situation, number, remedy)]


def _best_remedy(job: Job, cause: int) -> int | None:
    """The remedy with the least cost for its chance to clear one cause."""
    model, best, chosen = job.shop.model, np.inf, None
    values = [value[cause] for value in values_if_there(model, job.evidence)]
    for number in _open_remedies(job):
        remedy = model.remedies[number]
        chance = float(remedy.clears[1][cause] * applies(values, remedy.needs))
        if chance > 0.0 and remedy_cost(model, remedy, job.situation) / chance < best:
            best, chosen = remedy_cost(model, remedy, job.situation) / chance, number
    return chosen


def _refer(job: Job, cause: int) -> Step | None:
    done = len(job.evidence.treatments)
    for number, stop in enumerate(job.shop.model.stops):
        mine = stop.kind == "refer" and bool(stop.clears[cause])
        tried = any((t.clears == stop.clears).all() for t in job.evidence.treatments[:done])
        if mine and not tried:
            return Step("refer", number, stop.cost, 0.0, stop.cost)
    return None
