"""Trials of the shipped or the shop's packs: which worlds, which policies, told as data."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

import msgspec
import numpy as np

from tubside.service.danger import customer_may
from tubside.service.knowledge import Knowledge, knowledge_of_family
from tubside.service.own_check.choosing import alone, plain_checks, safe_remedies
from tubside.service.predictions import with_predictions
from tubside.trial.drawing import Part, drawn
from tubside.trial.job import Shop
from tubside.trial.measuring import Mean
from tubside.trial.own_check import Alone, try_alone
from tubside.trial.running import Result, Trial, run
from tubside.trial.world import Disturbance, World, as_the_pack_says, disturbed

WorldName = Literal["pack", "weights", "disturbed"]
WORLDS: tuple[WorldName, ...] = ("pack", "weights", "disturbed")
SETS = 1000
TABLES = 30.0
"""Size of the Dirichlet draws of a disturbed world's tables (about +-9 % on a chance of .5)."""
ODDS = 0.5
"""Sigma on the log odds of a disturbed world's other chances."""
WRONG_BY = 2.0
"""Factor by which the weights of the causes are wrong, up or down."""
MACHINE = 0.5
"""How far a disturbed world's machines are moved, in their own spreads."""


@dataclass(frozen=True, slots=True)
class Plan:
    """One trial to run: which family in which world, how many calls, from which seed."""

    family: str
    world: WorldName
    calls: int
    seed: int


def try_out(
    plan: Plan,
    packs: Path | None = None,
    executor: Executor | None = None,
    done: Callable[[int], None] | None = None,
) -> Result:
    """Work simulated calls of one family in one world with every policy."""
    known = knowledge_of_family(plan.family, packs)
    world = world_of(known, plan.world, plan.seed)
    trial = Trial(world, shop_of(known), plan.calls, plan.seed, with_predictions)
    return run(trial, executor, done)


def world_of(known: Knowledge, world: WorldName, seed: int) -> World:
    """The world of that name around a pack."""
    model = replace(known.model, predicting=None)
    if world == "pack":
        return as_the_pack_says(model)
    if world == "weights":
        return disturbed(model, Disturbance(weights=WRONG_BY), seed, "weights wrong by two")
    by = Disturbance(weights=WRONG_BY, tables=TABLES, odds=ODDS, machine=MACHINE)
    return disturbed(model, by, seed, "everything disturbed")


def shop_of(known: Knowledge) -> Shop:
    """The pack, and what may be asked of a customer after each first complaint."""
    pack = known.pack
    checks, remedies = [], []
    for name in known.model.names.conditions:
        danger = pack.conditions[name].danger
        found = [] if danger is None else [danger]
        checks.append(customer_may([c.customer_step for c in pack.checks.values()], found))
        remedies.append(customer_may([r.customer_step for r in pack.remedies.values()], found))
    model = replace(known.model, predicting=None)
    return Shop(model, np.array(checks), np.array(remedies), SETS)


def try_own_check(
    plan: Plan, packs: Path | None = None, done: Callable[[int], None] | None = None
) -> tuple[Alone, ...]:
    """Work simulated calls as customers do alone, by their restricted plan and by frequency."""
    known = knowledge_of_family(plan.family, packs)
    shop = shop_of(known)
    checks = shop.customer_checks & plain_checks(known)
    remedies = shop.customer_remedies & safe_remedies(known)
    danger = [known.pack.conditions[n].danger is not None for n in known.model.names.conditions]
    checks[danger], remedies[danger] = False, False  # the page says stop, and asks nothing
    mine = replace(
        shop, model=alone(shop.model), customer_checks=checks, customer_remedies=remedies
    )
    world = world_of(known, plan.world, plan.seed)
    return try_alone(world, mine, plan.seed, range(plan.calls), done)


def as_data(family: str, result: Result) -> dict[str, Any]:
    """Plain data of one trial, for ``--json``."""
    return {
        "family": family,
        "world": result.world,
        "seed": result.seed,
        "calls": result.rows[0].cost.n,
        "sets_left_out": result.left_out,
        "policies": [msgspec.to_builtins(_plain(row)) for row in result.rows],
        "calibration": msgspec.to_builtins(_plain(result.calibration)),
    }


def picture(results: list[tuple[str, Result]]) -> str:
    """One drawing of several trials."""
    return drawn([Part(f"{family}, {one.world}", one.rows) for family, one in results])


def _plain(record: Any) -> dict[str, Any]:  # noqa: ANN401  # rows and calibration alike
    fields = {name: getattr(record, name) for name in record.__dataclass_fields__}
    return {name: _told(value) for name, value in fields.items()}


def _told(value: object) -> object:
    """A mean with its interval, an interval that is not known told as nothing."""
    if not isinstance(value, Mean):
        return value
    known = [value.value, value.half]
    mean, half = (number if np.isfinite(number) else None for number in known)
    return {"mean": mean, "half_width": half, "n": value.n}
