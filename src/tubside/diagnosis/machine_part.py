"""The machine of a family as far as one quantity needs it, and machines drawn from it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from tubside.machine.draws import Values, base_draws, in_share
from tubside.pack.fault_model import Bools, Floats, Ints, Machine
from tubside.pack.parameters import PARAMETERS


class Quantity(Protocol):
    """What can be measured: the parameters it needs, and how it follows from them."""

    @property
    def needs(self) -> frozenset[str]:
        """Names of parameters."""

    @property
    def formula(self) -> Callable[[Values], Floats]:
        """Values of the parameters -> the quantity [SI], for many machines at once."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """Machines, with the share of each move settled: in which it happens, and how far."""

    base: Floats  # (p, D)
    normal: Floats  # (m, D) standard normal where the move happens
    inside: Bools  # (m, D)


@dataclass(frozen=True, slots=True)
class Part:
    """The machine as far as one quantity needs it, its causes counted from 0."""

    quantity: Quantity
    machine: Machine  # each of its moves stands for a cause of its own
    rows: Ints  # its parameters, in the whole machine
    moves: Ints  # its moves, in the whole machine
    cause_of: Ints  # for each move, the place of its cause
    causes: Ints  # (m,)
    renewed: tuple[tuple[int, ...], ...]  # for each cause, its parameters that are parts


def part_of(machine: Machine, quantity: Quantity, altering: Ints | None = None) -> Part:
    """Cut the machine down to what one quantity needs, and to the causes that alter it."""
    rows = np.array([i for i, n in enumerate(machine.parameters) if n in quantity.needs], dtype=int)
    place = {int(row): i for i, row in enumerate(rows)}
    here = [i for i, m in enumerate(machine.moves) if m.parameter in place]
    if altering is not None:
        here = [i for i in here if machine.moves[i].cause in altering]
    moves = np.array(here, dtype=int)
    causes = np.unique(np.array([machine.moves[i].cause for i in moves], dtype=np.int64))
    order = {int(cause): i for i, cause in enumerate(causes)}
    own = [machine.moves[i] for i in moves]
    few = tuple(
        replace(m, cause=i, parameter=place[m.parameter], share=1.0) for i, m in enumerate(own)
    )
    cause_of = np.array([order[m.cause] for m in own], dtype=np.int64)
    cut = Machine(
        parameters=tuple(machine.parameters[i] for i in rows),
        middle=machine.middle[rows],
        spread=machine.spread[rows],
        logarithmic=machine.logarithmic[rows],
        low=machine.low[rows],
        high=machine.high[rows],
        moves=few,
        controller=machine.controller,
        constants=machine.constants,
    )
    return Part(quantity, cut, rows, moves, cause_of, causes, _renewed(cut, cause_of, len(causes)))


def _renewed(machine: Machine, cause_of: Ints, causes: int) -> tuple[tuple[int, ...], ...]:
    """For each cause, the parameters of the machine itself that it moves."""
    touched: list[set[int]] = [set() for _ in range(causes)]
    for move, cause in zip(machine.moves, cause_of, strict=True):
        if PARAMETERS[machine.parameters[move.parameter]].place == "machine":
            touched[int(cause)].add(move.parameter)
    return tuple(tuple(sorted(rows)) for rows in touched)


def drawn(machine: Machine, count: int) -> Drawn:
    """``count`` machines, and for each of their moves whether it happens."""
    draws = base_draws(machine, count)
    inside = np.ones(draws.moves.shape, dtype=bool)
    normal = draws.moves.copy()
    for row, move in enumerate(machine.moves):
        if move.share < 1.0:
            inside[row], normal[row] = in_share(move.share, draws.moves[row])
    return Drawn(draws.base, normal, inside)
