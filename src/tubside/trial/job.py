"""A simulated job on the table: what is known of it, where it stands, what it has cost."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tubside.diagnosis.evidence import Answer, Evidence, Treatment
from tubside.diagnosis.facts import evidence_of
from tubside.diagnosis.next_step import Step
from tubside.diagnosis.situation import (
    Situation,
    check_minutes,
    may_check,
    may_remedy,
    minute_cost,
    remedy_minutes,
    scrap_cost,
)
from tubside.pack.fault_model import Bools, FaultModel
from tubside.trial.answering import Machine, Remembered, answer, has_construction, read, treat
from tubside.trial.call import Call

WORKS = 1


@dataclass(frozen=True, slots=True)
class Shop:
    """The pack that a policy goes by, and what may be asked of a customer.

    ``customer_checks`` (c, checks) and ``customer_remedies`` (c, remedies) say it for
    each condition a call may begin with: after a danger hardly anything is left.
    """

    model: FaultModel
    customer_checks: Bools
    customer_remedies: Bools
    sets: int


@dataclass(frozen=True, slots=True)
class Order(Step):
    """Parts to be bought before the visit."""

    parts: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Job:
    """One job between two steps; ``ended`` says how it ended, or is empty.

    ``wrong_parts`` counts part kinds fitted by remedies that cleared nothing; ``ordered``
    are part kinds bought for this job before the visit.
    """

    shop: Shop
    reported: int
    evidence: Evidence
    situation: Situation
    machine: Machine
    cost: float = 0.0
    minutes: float = 0.0
    trips: int = 0
    wrong_parts: int = 0
    turns: int = 0
    ordered: frozenset[int] = frozenset()
    remembered: tuple[tuple[tuple[int, int], Remembered], ...] = ()
    ended: str = ""
    came_back: bool = False


def open_job(shop: Shop, call: Call, machine: Machine) -> Job:
    """The job at the moment when the call was taken."""
    model = shop.model
    evidence = evidence_of(model, call.facts)
    assert evidence.complaint is not None
    reported = evidence.complaint.reported[0]
    situation = Situation(
        on_site=False,
        aboard=model.part_carried.copy(),
        open_covers=frozenset(),
        answered=frozenset(),
        tried=frozenset(),
        customer_checks=shop.customer_checks[reported],
        customer_remedies=shop.customer_remedies[reported],
    )
    return Job(shop, reported, evidence, situation, machine)


def may_do(job: Job) -> list[Step]:
    """Every step that can be done now: checks, remedies, the visit, ways to end the job."""
    model, place = job.shop.model, job.situation
    checks = [
        Step("check", n, 0.0, check_minutes(model, check, place), 0.0)
        for n, check in enumerate(model.checks)
        if may_check(place, n, check)
    ]
    remedies = [
        Step("remedy", n, 0.0, remedy_minutes(model, remedy, place), 0.0)
        for n, remedy in enumerate(model.remedies)
        if may_remedy(place, n, remedy)
    ]
    visit = [] if place.on_site else [Step("visit", 0, model.costs.visit, 0.0, 0.0)]
    stops = [
        Step(stop.kind, n, stop.cost, 0.0, 0.0)
        for n, stop in enumerate(model.stops)
        if stop.kind != "return"
    ]
    return [*checks, *remedies, *visit, *stops]


def do(job: Job, step: Step) -> Job:
    """The job after one step, its true cost paid."""
    job = replace(job, turns=job.turns + 1)
    match step.kind:
        case "check":
            return _look(job, step.index)
        case "remedy":
            return _mend(job, step.index)
        case "refer" | "order":
            parts = step.parts if isinstance(step, Order) else ()
            return _order(job, parts) if parts else _refer(job, step.index)
        case "visit":
            site = replace(job.situation, on_site=True)
            cost = job.cost + job.shop.model.costs.visit
            return replace(job, situation=site, trips=job.trips + 1, cost=cost)
        case "return":
            return replace(job, ended=step.kind, cost=job.cost + step.cost)
        case _:
            cost = job.cost + scrap_cost(job.shop.model, job.situation.age_years)
            return replace(job, ended="scrap", cost=cost)


def _paid(job: Job, minutes: float) -> Job:
    each = minute_cost(job.shop.model, on_site=job.situation.on_site)
    return replace(job, cost=job.cost + minutes * each, minutes=job.minutes + minutes)


def _opened(situation: Situation, cover: int) -> frozenset[int]:
    return situation.open_covers | ({cover} if cover >= 0 else set())


def _look(job: Job, number: int) -> Job:
    check, situation = job.shop.model.checks[number], job.situation
    observer = situation.observer
    job = _paid(job, check_minutes(job.shop.model, check, situation))
    looked = replace(
        situation,
        answered=situation.answered | {(number, observer)},
        open_covers=_opened(situation, check.cover),
    )
    if check.reading is not None:
        measured = read(job.machine, number, observer)
        readings = job.evidence.readings if measured is None else (*job.evidence.readings, measured)
        return replace(job, evidence=replace(job.evidence, readings=readings), situation=looked)
    place = (check.finding if check.finding >= 0 else -1 - check.axis, observer)
    remembered = dict(job.remembered)
    said = answer(job.machine, number, observer, remembered.get(place))
    if said >= 0:
        remembered[place] = Remembered(said, job.machine.remedies_done)
    told = Answer(number, said, observer, len(job.evidence.treatments))
    return replace(
        job,
        evidence=replace(job.evidence, answers=(*job.evidence.answers, told)),
        situation=looked,
        remembered=tuple(remembered.items()),
    )


def _mend(job: Job, number: int) -> Job:
    model, situation = job.shop.model, job.situation
    remedy, observer = model.remedies[number], situation.observer
    parts = list(remedy.parts)
    job = _paid(job, remedy_minutes(model, remedy, situation))
    cost, trips = job.cost + _fitted_price(job, parts), job.trips
    if parts and not situation.aboard[parts].all():
        trips += 1
        cost += model.costs.second_visit + model.costs.waiting_day * model.costs.part_wait_days
    aboard = situation.aboard.copy()
    aboard[parts] = True
    fits = has_construction(job.machine, remedy.needs)
    truly = job.machine.world.remedies[number].clears[observer]
    after = treat(job.machine, truly if fits else np.zeros_like(truly), "remedy", number)
    wasted = len(parts) if (after.machine.left == job.machine.left).all() else 0
    treatment = Treatment(remedy.clears[observer], after.rerun)
    job = replace(
        job,
        cost=cost,
        trips=trips,
        wrong_parts=job.wrong_parts + wasted,
        machine=after.machine,
        evidence=replace(job.evidence, treatments=(*job.evidence.treatments, treatment)),
        situation=replace(
            situation,
            aboard=aboard,
            tried=situation.tried | {(number, observer)},
            open_covers=_opened(situation, remedy.cover),
        ),
    )
    return _ended_well(job) if after.rerun == WORKS else job


def _fitted_price(job: Job, parts: list[int]) -> float:
    """Price of parts when fitted; what a return would not bring back is paid already."""
    model = job.shop.model
    kept = 1.0 - model.costs.restocking_share
    shares = [kept if part in job.ordered else 1.0 for part in parts]
    return float(model.part_price[parts] @ np.array(shares)) if parts else 0.0


def longer_wait(model: FaultModel) -> float:
    """Cost of waiting for a part beyond the days until a visit anyway [dollars]."""
    costs = model.costs
    return max(costs.part_wait_days - costs.booking_days, 0.0) * costs.waiting_day


def _order(job: Job, parts: tuple[int, ...]) -> Job:
    """Parts bought before the visit: what a return would lose, and the longer wait."""
    model, few = job.shop.model, list(parts)
    costs = model.costs
    lost = costs.restocking_share * float(model.part_price[few].sum())
    wait = longer_wait(model)
    aboard = job.situation.aboard.copy()
    aboard[few] = True
    return replace(
        job,
        cost=job.cost + lost + (0.0 if job.ordered else wait),
        situation=replace(job.situation, aboard=aboard),
        ordered=job.ordered | frozenset(few),
    )


def _refer(job: Job, number: int) -> Job:
    """A licensed trade comes: it clears what is its own, and the machine is run again."""
    stop = job.shop.model.stops[number]
    clears = stop.clears.astype(float)
    after = treat(job.machine, clears, "refer", number)
    treatment = Treatment(clears, after.rerun)
    job = replace(
        job,
        cost=job.cost + stop.cost,
        machine=after.machine,
        evidence=replace(job.evidence, treatments=(*job.evidence.treatments, treatment)),
    )
    return _ended_well(job) if after.rerun == WORKS else job


def _ended_well(job: Job) -> Job:
    """The re-run passed: the job ends, unless what raised the complaint is still there."""
    back = bool((job.machine.call.raised & job.machine.left).any())
    cost = job.cost + (job.shop.model.costs.callback if back else 0.0)
    return replace(job, ended="works", came_back=back, cost=cost)
