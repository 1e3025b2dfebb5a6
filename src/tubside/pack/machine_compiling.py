"""The machine of a pack as arrays, and the machine of one model of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from tubside.pack import machine_schema
from tubside.pack.fault_model import Machine, Move
from tubside.pack.parameters import CONTROLLER, PARAMETERS, Kind, kind_named
from tubside.pack.schema import Pack
from tubside.pack.stated import UnfitError, stated_move, stated_spread, stated_value
from tubside.strict_yaml import or_one_of


def compile_machine(pack: Pack) -> Machine | None:
    """The machine of a checked pack, or None where the pack states none."""
    if not pack.machine:
        return None
    kind = kind_named(pack.machine)
    known = kind.parameters
    middle = [stated_value(pack.machine[name].value, of) for name, of in known.items()]
    spread = [
        stated_spread(pack.machine[name].spread, value, of)
        for (name, of), value in zip(known.items(), middle, strict=True)
    ]
    return Machine(
        parameters=tuple(known),
        middle=np.array(middle),
        spread=np.array([sigma for sigma, _ in spread]),
        logarithmic=np.array([logarithmic for _, logarithmic in spread], dtype=bool),
        low=np.array([of.low for of in known.values()]),
        high=np.array([of.high for of in known.values()]),
        moves=tuple(
            _move(kind, cause, name, move)
            for cause, record in enumerate(pack.causes.values())
            for name, move in record.moves.items()
        ),
        controller={
            name: stated_value(limit.value, CONTROLLER[name])
            for name, limit in pack.controller.items()
        },
    )


def _move(kind: Kind, cause: int, name: str, move: machine_schema.Move) -> Move:
    how, value, spread = stated_move(move, kind.parameters[name])
    return Move(cause, list(kind.parameters).index(name), how, value, spread, move.share)


def with_own_values(
    machine: Machine, values: Mapping[str, str], limits: Mapping[str, str]
) -> Machine:
    """The family's machine as one model is built, or as one site has it.

    Parameters
    ----------
    machine : Machine
        The family's.
    values : Mapping[str, str]
        Parameter -> stated value; its spread stays that of the family.
    limits : Mapping[str, str]
        Limit of the controller -> stated value.

    Raises
    ------
    UnfitError
        When a value does not fit its parameter, or the family has no such parameter.
    """
    middle = machine.middle.copy()
    for name, text in values.items():
        if name not in machine.parameters:
            what = f"'{name}' is nothing that this family's machine has"
            raise UnfitError(what, or_one_of(name, machine.parameters))
        middle[machine.parameters.index(name)] = stated_value(text, PARAMETERS[name])
    own = {name: stated_value(text, CONTROLLER[name]) for name, text in limits.items()}
    return replace(machine, middle=middle, controller={**machine.controller, **own})
