"""Machines for tests: those of a family, with one value put in place of another."""

from __future__ import annotations

from functools import cache

import numpy as np

from tubside.machine.controller import Noticed, noticed
from tubside.machine.cycle import Cycle, play
from tubside.machine.draws import Values, base_draws, middle_draw, values_with
from tubside.pack.fault_model import FaultModel, Machine
from tubside.pack.home import pack_folder
from tubside.pack.loading import load_pack


@cache
def model_of(family: str) -> FaultModel:
    """The compiled pack of a family."""
    return load_pack(pack_folder(family)).model


def machine_of(family: str) -> Machine:
    """The machine of a family."""
    machine = model_of(family).machine
    assert machine is not None
    return machine


def sound(family: str, count: int = 1, seed: int = 0) -> Values:
    """``count`` machines with nothing wrong: one is the middle machine, more are drawn."""
    machine = machine_of(family)
    draws = middle_draw(machine) if count == 1 else base_draws(machine, count, seed)
    return values_with(machine, draws, ())


def putting(values: Values, **changed: float) -> Values:
    """The values with some parameters set in every machine."""
    count = next(iter(values.values())).size
    return {**values, **{name: np.full(count, value) for name, value in changed.items()}}


def played(family: str, values: Values, **limits: float) -> tuple[Cycle, Noticed]:
    """One cycle of each machine, and what was noticed; limits override the family's."""
    model = model_of(family)
    own = {**machine_of(family).controller, **limits}
    cycle = play(values, own)
    return cycle, noticed(cycle, own, model)


def stopped_by(family: str, values: Values) -> str | None:
    """The condition that stops the first machine; None where its cycle ends well."""
    first = int(played(family, values)[1].first[0])
    return None if first < 0 else model_of(family).names.conditions[first]


def shows(family: str, values: Values) -> set[str]:
    """All conditions that show in the first machine up to its stop."""
    shown = played(family, values)[1].shown[:, 0]
    return {name for name, met in zip(model_of(family).names.conditions, shown, strict=True) if met}
