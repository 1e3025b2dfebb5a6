"""Simulated calls that a customer works alone: how many are cleared without a visit.

Two ways on the same calls: the customer's restricted plan, least expected cost with safe
steps alone, and the frequency list: the safe remedy of the likeliest cause first, and so on.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from tubside.diagnosis.ahead import best_steps
from tubside.diagnosis.next_step import Step
from tubside.diagnosis.situation import applies, may_remedy, values_if_there
from tubside.pack.fault_model import CUSTOMER
from tubside.trial.job import Job, Shop, do
from tubside.trial.measuring import Mean, mean
from tubside.trial.policies import belief_of, causes_by_share
from tubside.trial.working import take_call
from tubside.trial.world import World

MOST_STEPS = 10
"""Steps that a customer does alone (as on the page; common practice, no source)."""
AHEAD = (6, 60)

Chooser = Callable[[Job], Step | None]


@dataclass(frozen=True, slots=True)
class Alone:
    """One way to check alone over all calls: shares, steps and minutes a call.

    ``cleared`` counts calls that ended without a visit and stayed so, ``back`` those that
    only seemed to.
    """

    way: str
    cleared: Mean
    back: Mean
    steps: Mean
    minutes: Mean


def planned(job: Job) -> Step | None:
    """The first step of the restricted plan; None where a visit comes before it."""
    steps = best_steps(job.shop.model, job.evidence, belief_of(job), job.situation, AHEAD)
    return steps[0] if steps and steps[0].kind in {"check", "remedy"} else None


def by_frequency(job: Job) -> Step | None:
    """The customer's remedy that best clears the likeliest cause not tried yet."""
    model = job.shop.model
    values = values_if_there(model, job.evidence)
    for cause in causes_by_share(model, job.reported):
        best, chosen = 0.0, -1
        for number, remedy in enumerate(model.remedies):
            if not may_remedy(job.situation, number, remedy):
                continue
            here = [value[cause] for value in values]
            chance = float(remedy.clears[CUSTOMER][cause] * applies(here, remedy.needs))
            if chance > best:
                best, chosen = chance, number
        if chosen >= 0:
            return Step("remedy", chosen, 0.0, 0.0, 0.0)
    return None


WAYS: tuple[tuple[str, Chooser], ...] = (
    ("restricted plan", planned),
    ("frequency list", by_frequency),
)


def worked_alone(job: Job, choose: Chooser) -> Job:
    """The job after as many steps as a customer does, or at its end."""
    for _ in range(MOST_STEPS):
        step = choose(job)
        if step is None or job.ended:
            break
        job = replace(do(replace(job, shop=without_parts(job.shop)), step), shop=job.shop)
    return job


def without_parts(shop: Shop) -> Shop:
    """The shop's model for what a customer does: the parts of a remedy are a technician's."""
    bare = tuple(replace(remedy, parts=()) for remedy in shop.model.remedies)
    return replace(shop, model=replace(shop.model, remedies=bare))


def try_alone(
    world: World,
    shop: Shop,
    seed: int,
    calls: Sequence[int],
    done: Callable[[int], None] | None = None,
) -> tuple[Alone, ...]:
    """Both ways on the same calls; ``done`` is told how many calls are finished."""
    found: dict[str, list[Job]] = {way: [] for way, _ in WAYS}
    for finished, number in enumerate(calls, start=1):
        job = take_call(world, shop, seed, number)
        for way, choose in WAYS:
            found[way].append(worked_alone(job, choose))
        if done is not None:
            done(finished)
    return tuple(_row(way, jobs) for way, jobs in found.items())


def _row(way: str, jobs: Sequence[Job]) -> Alone:
    over = np.array(
        [
            (
                job.ended == "works" and not job.came_back,
                job.ended == "works" and job.came_back,
                job.turns,
                job.minutes,
            )
            for job in jobs
        ],
        dtype=float,
    ).reshape(len(jobs), 4)
    return Alone(way, *(mean(column) for column in over.T))
