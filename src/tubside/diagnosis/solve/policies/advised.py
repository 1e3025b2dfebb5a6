"""Ours: a look over every step, then deeper after the most promising."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tubside.diagnosis.solve.policies.ahead import Sight, look
from tubside.diagnosis.solve.policies.field import Field, Ints, field_of, narrowed, nodes_of
from tubside.diagnosis.solve.policies.steps import to_steps
from tubside.diagnosis.solve.problem import Floats, Problem
from tubside.diagnosis.solve.sets import Members
from tubside.diagnosis.solve.state import State, Step, Tables

WIDTHS = (6, 3)
MANY_SETS = 128
"""With more sets of causes than this, only the heaviest of each belief are looked at."""
HEAVIEST = 64
NARROW = (4, 2)


@dataclass(frozen=True, slots=True)
class Advised:
    """Least expected cost, every step looked at, the most promising looked at further."""

    problem: Problem
    sight: Sight
    widths: tuple[int, ...] = WIDTHS

    def choose(self, states: Sequence[State]) -> list[Step]:
        """Return the step with the least expected cost, or the cheapest stop."""
        if len(self.sight.field.member) > MANY_SETS:
            return [self._narrow(state) for state in states]
        nodes = nodes_of(self.sight.field, states)
        return to_steps(self.problem, look(self.sight, nodes, self.widths), self.sight.field.stop)

    def _narrow(self, state: State) -> Step:
        rows = heaviest(state.weights, state.tables.sets.member)
        tables = narrowed(state.tables, rows)
        weights = state.weights[rows]
        small = replace(state, tables=tables, weights=weights / weights.sum())
        sight = Sight.of(_field_of_present(self.problem, tables))
        value = look(
            sight,
            nodes_of(sight.field, [small]),
            self.widths if self.sight.field.single else NARROW,
        )
        return to_steps(self.problem, value, sight.field.stop)[0]


def _field_of_present(problem: Problem, tables: Tables) -> Field:
    """The arrays without the causes that are in no set."""
    kept = tables.sets.member.any(axis=0)
    ways = tuple(replace(r, clears=r.clears[kept]) for r in problem.remedies)
    sets = replace(tables.sets, member=tables.sets.member[:, kept])
    return field_of(replace(problem, remedies=ways), replace(tables, sets=sets))


def heaviest(weights: Floats, member: Members) -> Ints:
    """Rows of the heaviest sets, and of every part of them that a remedy may leave: sorted."""
    order = np.argsort(-weights, kind="stable")[:HEAVIEST]
    kept = member[order[weights[order] > 0]]
    part: Members = np.all(member[:, None, :] <= kept[None, :, :], axis=2)
    return np.flatnonzero(part.any(axis=1))
