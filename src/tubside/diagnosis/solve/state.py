"""Where a job stands, and where each step leads: the rules of the problem, one by one.

A check's outcomes are independent given the causes present when it is made. A remedy
clears each present cause independently with its chance; the re-run says surely whether
any cause is left. A step that is not repeatable is done at most once. A cover is opened
with the first step behind it; closing it is never forced, so no best plan pays for it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import product
from typing import Literal

import numpy as np
import numpy.typing as npt

from tubside.diagnosis.solve.problem import NO_COVER, Check, Floats, Problem, Remedy
from tubside.diagnosis.solve.sets import MOST_SETS, Sets, said, sets_of

StepKind = Literal["check", "remedy", "stop"]
Numbers = npt.NDArray[np.int64]
KEY_DIGITS = 12
MOST_MOVES = 200_000
"""Moves of all remedies from set to set; more would take many seconds and much memory."""


@dataclass(frozen=True, slots=True, order=True)
class Step:
    """A check, a remedy or a stop, by its index in the problem."""

    kind: StepKind
    index: int


@dataclass(frozen=True, slots=True)
class Moves:
    """What a failed remedy does to a belief: ``stay`` (m,), and set ``source`` to ``target``."""

    stay: Floats
    source: Numbers
    target: Numbers
    chance: Floats


@dataclass(frozen=True, slots=True)
class Tables:
    """The numbers of a problem over its sets."""

    sets: Sets
    said: tuple[Floats, ...]  # per check (k, m)
    moves: tuple[Moves, ...]


@dataclass(frozen=True, slots=True, eq=False)
class State:
    """Belief over the kept sets (m,), steps used up and covers open as bits.

    Bit i of ``used`` is check i, or remedy i - number of checks. Equal, and one key in a
    dict, are states of one problem whose beliefs agree to twelve digits.
    """

    tables: Tables = field(repr=False)
    weights: Floats
    used: int = 0
    open: int = 0

    @property
    def key(self) -> tuple[bytes, int, int]:
        """What tells two states of a problem apart."""
        rounded = np.round(self.weights, KEY_DIGITS) + 0.0
        return rounded.tobytes(), self.used, self.open

    def __hash__(self) -> int:
        return hash(self.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, State) and self.key == other.key

    def causes(self) -> Floats:
        """Chance that each cause is present: (n,)."""
        return np.asarray(self.weights @ self.tables.sets.member)


def tables_of(problem: Problem) -> Tables:
    """Return the numbers of the problem over its sets.

    Raises
    ------
    ProblemTableError
        As :func:`tubside.diagnosis.solve.sets.said`.
    """
    sets = _few_enough(problem)
    single = problem.single_fault
    outcomes = tuple(said(check, sets.member, single_fault=single) for check in problem.checks)
    return Tables(sets, outcomes, tuple(_moves(remedy, sets) for remedy in problem.remedies))


def _few_enough(problem: Problem) -> Sets:
    """The sets to keep: fewer where remedies that may fail on many causes make many parts."""
    sets, most = sets_of(problem), MOST_SETS
    may_fail = np.array([(r.clears > 0) & (r.clears < 1) for r in problem.remedies])
    while len(sets.member) > 1 and may_fail.size:
        listed = sets.member.astype(np.float64) @ may_fail.T
        several = (sets.member.sum(axis=1) > 1)[:, None] & (listed > 0)
        if float(np.exp2(listed)[several].sum()) <= MOST_MOVES:
            break
        most //= 2
        sets = sets_of(problem, most, all_up_to=0)
    return sets


def _moves(remedy: Remedy, sets: Sets) -> Moves:
    """Clear every part of every set; what is cleared wholly leaves the belief."""
    stays = 1.0 - np.asarray(remedy.clears)
    stay = np.where(sets.member, stays, 1.0).prod(axis=1)
    row = {mask.tobytes(): i for i, mask in enumerate(sets.member)}
    found: list[tuple[int, int, float]] = []
    for i, mask in enumerate(sets.member):
        listed = np.flatnonzero(mask & (remedy.clears > 0))
        if mask.sum() == 1 or not len(listed):
            continue
        sure = stays[listed] == 0
        for cleared in product(*((True,) if always else (False, True) for always in sure)):
            left = mask.copy()
            left[listed[list(cleared)]] = False
            chance = float(np.where(cleared, 1.0 - stays[listed], stays[listed]).prod())
            if chance > 0 and any(cleared) and left.any():
                found.append((i, row[left.tobytes()], chance))
    source, target, chance_ = zip(*found, strict=True) if found else ((), (), ())
    index = np.array(source, dtype=np.int64), np.array(target, dtype=np.int64)
    return Moves(stay, *index, np.array(chance_, dtype=np.float64))


def start(problem: Problem) -> State:
    """Return the state before anything is done.

    Raises
    ------
    ProblemTableError
        If the numbers of the problem cannot be true, with the check's name.
    """
    tables = tables_of(problem)
    return State(tables, tables.sets.prior)


def after_check(problem: Problem, state: State, check: int, outcome: int) -> tuple[float, State]:
    """Return the chance of an outcome and the state after it.

    The belief is all zero where the outcome cannot come.
    """
    joint = state.weights * state.tables.said[check][outcome]
    made = problem.checks[check]
    return _normalised(state, joint, _with_used(problem, state, Step("check", check)), made)


def after_remedy(problem: Problem, state: State, remedy: int) -> tuple[float, State]:
    """Return the chance that the re-run still fails, and the state then.

    The belief is all zero where it cannot fail.
    """
    moves = state.tables.moves[remedy]
    left = state.weights * moves.stay
    np.add.at(left, moves.target, state.weights[moves.source] * moves.chance)
    made = problem.remedies[remedy]
    return _normalised(state, left, _with_used(problem, state, Step("remedy", remedy)), made)


def _normalised(
    state: State, weights: Floats, used: int, made: Check | Remedy
) -> tuple[float, State]:
    total = float(weights.sum())
    scaled = weights / total if total > 0 else np.zeros_like(weights)
    cover = 0 if made.behind == NO_COVER else 1 << made.behind
    return total, replace(state, weights=scaled, used=used, open=state.open | cover)


def _with_used(problem: Problem, state: State, step: Step) -> int:
    """Bits of the steps used up after this one."""
    made = _made(problem, step)
    return state.used if made.repeatable else state.used | 1 << bit_of(problem, step)


def bit_of(problem: Problem, step: Step) -> int:
    """Which bit of ``used`` a check or remedy has."""
    return step.index + (len(problem.checks) if step.kind == "remedy" else 0)


def _made(problem: Problem, step: Step) -> Check | Remedy:
    return problem.checks[step.index] if step.kind == "check" else problem.remedies[step.index]


def step_cost(problem: Problem, state: State, step: Step) -> float:
    """Return what a step costs now: with its re-run, and its cover where that is shut."""
    if step.kind == "stop":
        return problem.stops[step.index].cost
    made = _made(problem, step)
    rerun = made.rerun_cost if isinstance(made, Remedy) else 0.0
    shut = made.behind != NO_COVER and not state.open >> made.behind & 1
    return made.cost + rerun + (problem.covers[made.behind].open if shut else 0.0)


def open_steps(problem: Problem, state: State) -> list[Step]:
    """Return the steps not used up: checks, remedies, then stops, in the problem's order."""
    steps = [Step("check", i) for i in range(len(problem.checks))]
    steps += [Step("remedy", i) for i in range(len(problem.remedies))]
    left = [step for step in steps if not state.used >> bit_of(problem, step) & 1]
    return [*left, *(Step("stop", i) for i in range(len(problem.stops)))]


def is_done(problem: Problem, state: State) -> bool:
    """Whether the goal is reached: nothing can be left, or one cause is identified."""
    if problem.goal == "identified":
        return int((state.causes() > 0).sum()) <= 1
    return not bool((state.weights > 0).any())
