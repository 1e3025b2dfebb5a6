"""Invented machines, quantities and reading checks, for tests of readings as evidence."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from made_models import Shape, made_model
from tubside.diagnosis.predicted import Predicted
from tubside.machine.draws import Values
from tubside.pack.fault_model import (
    PLUS,
    TIMES,
    Check,
    FaultModel,
    Floats,
    Machine,
    Move,
    Reading,
)

COLD, REGULATOR, LIFT = "cold_pressure", "regulator_flow", "drain_lift"
"""Two parameters of the site and one of the machine, here with invented values."""


@dataclass(frozen=True, slots=True)
class MadeQuantity:
    """A quantity of the invented machine."""

    needs: frozenset[str]
    formula: Callable[[Values], Floats]


QUANTITIES = {
    "pressure": MadeQuantity(frozenset({COLD}), lambda v: v[COLD]),
    "flow": MadeQuantity(frozenset({COLD, REGULATOR}), lambda v: v[COLD] * v[REGULATOR]),
    "regulator": MadeQuantity(frozenset({REGULATOR}), lambda v: v[REGULATOR]),
    "lift": MadeQuantity(frozenset({LIFT}), lambda v: v[LIFT]),
    "until": MadeQuantity(
        frozenset({REGULATOR}),
        lambda v: np.where(v[REGULATOR] < 0.2, np.inf, 1.0 / np.maximum(v[REGULATOR], 1e-9)),
    ),
}


def made_machine(moves: tuple[Move, ...], spread: float = 1.0) -> Machine:
    """Return a machine of three parameters: two normal, one log-normal."""
    return Machine(
        parameters=(COLD, REGULATOR, LIFT),
        middle=np.array([10.0, 1.0, 5.0]),
        spread=np.array([spread, 0.2, 0.5]),
        logarithmic=np.array([False, True, False]),
        low=np.full(3, -1e9),
        high=np.full(3, 1e9),
        moves=moves,
        controller={},
    )


MOVES = (Move(0, 0, PLUS, -4.0, 0.5), Move(1, 1, TIMES, 0.3, 0.2), Move(2, 0, TIMES, 0.7, 0.1))


def reading_check(quantity: str, share: float = 0.0, plain: float = 1.0, **more: object) -> Check:
    """Return a check that reads a number, for both observers, by phone and on site."""
    reading = Reading(
        quantity, "m", 1.0, 0.0, (share, share), (plain, plain), float("inf"), needs_fault=False
    )
    reading = replace(reading, **more)  # type: ignore[arg-type]  # the test names fields of Reading
    return Check(-1, -1, 4.0, True, True, (0, 1), (0.05, 0.02), -1, (), -1, reading)


def with_readings(
    checks: tuple[Check, ...],
    moves: tuple[Move, ...] = MOVES,
    *,
    spread: float = 1.0,
    count: int = 512,
    shape: Shape | None = None,
) -> FaultModel:
    """Return an invented model whose last checks are readings of the invented machine."""
    model = made_model(shape or Shape(causes=5, findings=3))
    machine = made_machine(moves, spread)
    names = tuple(f"reading{n}" for n in range(len(checks)))
    return replace(
        model,
        names=replace(model.names, checks=(*model.names.checks, *names)),
        checks=(*model.checks, *checks),
        machine=machine,
        predicting=Predicted(machine, QUANTITIES, count),
    )
