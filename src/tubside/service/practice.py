"""Practice on a simulated machine with a hidden fault: look, measure, mend, and see the bill.

A practice is its family or model, level and seed, and the steps done so far; everything
else follows from these, so that it can stand in a link and go on anywhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from tubside.diagnosis.facts import HowOften, Reported
from tubside.diagnosis.hypotheses import Sets
from tubside.diagnosis.next_step import Step
from tubside.errors import UnknownNameError
from tubside.pack.fault_model import FaultModel
from tubside.service.knowledge import Knowledge
from tubside.service.trials import shop_of
from tubside.strict_yaml import or_one_of
from tubside.trial.answering import Machine
from tubside.trial.call import Call, draw_call, draw_set
from tubside.trial.chance import Chance
from tubside.trial.job import Job, Order, do, may_do, open_job
from tubside.trial.world import World, as_the_pack_says

Level = Literal[1, 2, 3]
LEVELS: dict[Level, str] = {
    1: "one common fault",
    2: "any one fault that shows every time",
    3: "a rare fault, one that comes and goes, or two at once",
}
COMMON = 0.6
"""The commonest causes that make up this share of calls are common."""
COMES_AND_GOES = 0.9
"""A cause that shows less often than this on one run comes and goes."""
OFTEN = ("every time", "sometimes", "once")
MOST_DRAWS = 10_000


@dataclass(frozen=True, slots=True)
class Practice:
    """A practice as it stands: the job now, and before each step done."""

    known: Knowledge
    level: Level
    seed: int
    call: Call
    job: Job
    before: tuple[Job, ...]
    steps: tuple[Step, ...]

    @property
    def over(self) -> bool:
        """Whether the job has come to its end."""
        return bool(self.job.ended)

    @property
    def reported(self) -> str:
        """Id of the condition that the customer reports."""
        coded = self.call.facts[0].coded
        assert isinstance(coded, Reported)
        return self.known.model.names.conditions[coded.condition]

    @property
    def how_often(self) -> str:
        """How often it happens, in the customer's words."""
        coded = self.call.facts[1].coded
        assert isinstance(coded, HowOften)
        return OFTEN[coded.word]

    @property
    def hidden(self) -> tuple[str, ...]:
        """Ids of what is really wrong; nothing on a machine that is sound."""
        there = np.flatnonzero(self.call.causes)
        return tuple(self.known.model.names.causes[i] for i in there)


def begin(known: Knowledge, level: Level, seed: int) -> Practice:
    """The first call of this seed that fits the level."""
    world = as_the_pack_says(replace(known.model, predicting=None))
    shop = replace(shop_of(known), model=known.model)
    for number in range(MOST_DRAWS):
        chance = Chance(seed, number)
        one = draw_set(world.drawn, chance)
        if fits(known.model, one, level):
            call, machine = _machine(world, one, chance)
            return Practice(known, level, seed, call, open_job(shop, call, machine), (), ())
    msg = f"no call of level {level} came up in {MOST_DRAWS}; try another seed"
    raise UnknownNameError(msg)


def _machine(world: World, one: Sets, chance: Chance) -> tuple[Call, Machine]:
    call = draw_call(world.model, one, chance)
    return call, Machine(world.model, call, chance, one.members[0], world.machines)


def fits(model: FaultModel, one: Sets, level: Level) -> bool:
    """Whether a set of causes is of this level."""
    causes = np.flatnonzero(one.members[0])
    if not len(causes):
        return False
    several = len(causes) > 1
    quiet = bool((model.shows[causes] < COMES_AND_GOES).any())
    rare = not bool(_common(model)[causes].all())
    if level == 3:
        return several or quiet or rare
    return not several and not quiet and (level == 2 or not rare)


def _common(model: FaultModel) -> np.ndarray:
    order = np.argsort(-model.prior.odds, kind="stable")
    share = np.cumsum(model.prior.odds[order]) / model.prior.odds.sum()
    result = np.zeros(len(order), dtype=bool)
    result[order[: int(np.searchsorted(share, COMMON)) + 1]] = True
    return result


def follow(practice: Practice, names: Sequence[str]) -> Practice:
    """The practice after steps by name: ``check:ID``, ``remedy:ID``, ``visit``, ``stop:ID``.

    Raises
    ------
    UnknownNameError
        When there is no such step, or it cannot be done now.
    """
    for name in names:
        step = named_step(practice, name)
        practice = replace(
            practice,
            job=do(practice.job, step),
            before=(*practice.before, practice.job),
            steps=(*practice.steps, step),
        )
    return practice


def open_steps(practice: Practice) -> list[Step]:
    """Everything that can be done now, checks first."""
    return [] if practice.over else may_do(practice.job)


def name_of(known: Knowledge, step: Step) -> str:
    """The name by which a step is asked for."""
    names = known.model.names
    match step.kind:
        case "check":
            return f"check:{names.checks[step.index]}"
        case "remedy":
            return f"remedy:{names.remedies[step.index]}"
        case "visit" | "order":
            return step.kind
        case _:
            return f"stop:{names.stops[step.index]}"


def title_of(known: Knowledge, step: Step) -> str:
    """What a step is called."""
    names, pack = known.model.names, known.pack
    match step.kind:
        case "check":
            return pack.checks[names.checks[step.index]].title
        case "remedy":
            return pack.remedies[names.remedies[step.index]].title
        case "visit":
            return "drive there"
        case "order":
            ordered = step.parts if isinstance(step, Order) else ()
            return f"order: {', '.join(pack.parts[names.parts[part]].title for part in ordered)}"
        case _:
            return pack.stops[names.stops[step.index]].title


def named_step(practice: Practice, name: str) -> Step:
    """The open step of that name; the id alone will do where it is one step's."""
    found = {name_of(practice.known, step): step for step in open_steps(practice)}
    short = [full for full in found if full.split(":")[-1] == name]
    wanted = name if name in found else short[0] if len(short) == 1 else name
    if wanted not in found:
        what = f"there is no step '{name}' that can be done now"
        msg = f"{what}; {or_one_of(name, list(found))}"
        raise UnknownNameError(msg)
    return found[wanted]


def given_up(practice: Practice) -> Step:
    """The step that gives the job up: the machine is not worth repairing."""
    return next(step for step in open_steps(practice) if step.kind == "scrap")
