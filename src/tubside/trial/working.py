"""One call worked to its end by one policy, and what came of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tubside.pack.fault_model import Floats
from tubside.trial.answering import Machine
from tubside.trial.call import draw_call, draw_set
from tubside.trial.chance import Chance
from tubside.trial.job import Job, Shop, do, open_job
from tubside.trial.known_cause import Known, known_cause
from tubside.trial.meter import stopped_for
from tubside.trial.policies import GIVE_UP, JobPolicy, belief_of
from tubside.trial.world import World

MOST_TURNS = 60
HELD = 0.9
"""Probability that the stated set of causes is to hold."""
WORTH_STATING = 0.01


@dataclass(frozen=True, slots=True)
class Worked:
    """What one policy made of one call [dollars, minutes]."""

    call: int
    policy: str
    cost: float
    minutes: float
    trips: int
    ended: str
    came_back: bool
    wrong_parts: int
    known_cost: float
    known_way: str

    @property
    def by_phone(self) -> bool:
        """Whether it ended well without a visit."""
        return self.ended == "works" and self.trips == 0

    @property
    def first_visit(self) -> bool:
        """Whether it ended well on the first visit and stayed so."""
        return self.ended == "works" and self.trips == 1 and not self.came_back

    @property
    def excess(self) -> float:
        """Cost beyond that with the cause known."""
        return self.cost - self.known_cost


@dataclass(frozen=True, slots=True)
class Stated:
    """What was believed at one moment of one call, and what was true of it."""

    probability: Floats  # stated for each cause worth stating
    true: Floats  # 1.0 where the cause was there
    held: bool  # the stated set holds a cause that is there, or that there is none
    size: int


def take_call(world: World, shop: Shop, seed: int, number: int) -> Job:
    """Call ``number`` of this seed, the same for every policy."""
    chance = Chance(seed, number)
    one = draw_set(world.drawn, chance)
    stopped = None
    if world.by_physics and world.machines is not None:
        stopped = stopped_for(world.machines, world.model, chance, one.members[0])
    call = draw_call(world.model, one, chance, stopped)
    machine = Machine(world.model, call, chance, one.members[0], world.machines)
    return open_job(shop, call, machine)


def by_phone(job: Job, policy: JobPolicy) -> Job:
    """The job after the phone stage of a policy: ended, or with somebody on site."""
    while not job.ended and not job.situation.on_site:
        job = do(job, policy.choose(job) if job.turns < MOST_TURNS else GIVE_UP)
    return job


def work(job: Job, policy: JobPolicy, number: int, known: Known) -> Worked:
    """Follow a policy to the end; after very many steps the job is given up."""
    while not job.ended:
        step = policy.choose(job) if job.turns < MOST_TURNS else GIVE_UP
        job = do(job, step)
    return Worked(
        call=number,
        policy=policy.name,
        cost=job.cost,
        minutes=job.minutes,
        trips=job.trips,
        ended=job.ended,
        came_back=job.came_back,
        wrong_parts=job.wrong_parts,
        known_cost=known.cost,
        known_way=known.way,
    )


def stated(job: Job) -> Stated:
    """The belief as it stands, against what is still wrong."""
    belief = belief_of(job)
    members = belief.rows.now
    count = np.maximum(members.sum(axis=1, keepdims=True), 1)
    share = belief.probability @ (members / count)
    sound = float(belief.probability[~members.any(axis=1)].sum())
    order = np.argsort(-np.append(share, sound), kind="stable")
    held = np.cumsum(np.append(share, sound)[order])
    size = int(np.searchsorted(held, HELD)) + 1
    inside = set(order[:size].tolist())
    there = set(np.flatnonzero(job.machine.left).tolist()) or {len(share)}
    probability = belief.now()
    worth = probability > WORTH_STATING
    return Stated(
        probability[worth], job.machine.left[worth].astype(float), bool(inside & there), size
    )


def try_calls(
    world: World, shop: Shop, policies: Sequence[JobPolicy], seed: int, numbers: Sequence[int]
) -> tuple[list[Worked], list[Stated]]:
    """Every policy on each of these calls; what was believed at the end of the phone stage.

    All take the call as the first policy does: what differs is the work on site.
    """
    found, beliefs = [], []
    for number in numbers:
        job = take_call(world, shop, seed, number)
        known = known_cause(job)
        job = by_phone(job, policies[0])
        if not job.ended:
            beliefs.append(stated(job))
        found += [work(job, policy, number, known) for policy in policies]
    return found, beliefs
