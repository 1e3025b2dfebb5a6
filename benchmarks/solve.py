"""Time to a proven best plan, and how far bounds are apart where there is none.

Seconds of exact problems are of one core's own time, those of a limit are by the clock, all
without what numba takes to compile. The reference of each row is in the same run: for exact
problems the search with no floor but that of known causes, for large ones the gap of full
observability under the same plan.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from pathlib import Path
from statistics import median

import numpy as np
from timing import line

from tubside.diagnosis.solve import engine, searching
from tubside.diagnosis.solve.engine import solve
from tubside.diagnosis.solve.given import Given, given_of
from tubside.diagnosis.solve.kernel_floor import known, mean
from tubside.diagnosis.solve.problem import Problem
from tubside.diagnosis.solve.state import start

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "plugins"))

from made_problems import made_problem, several_causes

SEEDS = 3
EXACT = ((8, 8, "<= 2"), (10, 8, "<= 10"), (15, 5, "<= 10"))


def report() -> Iterator[str]:
    """Rows for exact problems of three sizes, and for 20 causes, 20 remedies, 15 checks."""
    _load()
    for causes, checks, wanted in EXACT:
        problems = [made_problem(causes, checks, seed) for seed in range(SEEDS)]
        took = [_seconds(problem) for problem in problems]
        less = [_states_with_known_causes_only(problem) for problem in problems]
        ratio = f"beliefs met: {median(less):.2f} x those without the floor of pairs"
        yield line(f"exact, {causes} causes, {checks} checks", max(took), "s", wanted, ratio)
    for seconds, wanted in ((1.0, "<= 10 %"), (30.0, "<= 5 %")):
        gaps = [_gap(made_problem(20, 15, seed), seconds) for seed in range(SEEDS)]
        yield _gap_line(f"20 x 20 x 15, one fault, {seconds:.0f} s", gaps, wanted)
    gaps = [_gap(several_causes(20, 15, seed), 30.0) for seed in range(2)]
    yield _gap_line("20 x 20 x 15, 8 % several faults, 30 s", gaps, "reported")


def _load() -> None:
    """Have the compiled loops before anything is measured."""
    before = searching.LOADS_AFTER, searching.COMPILES_AFTER
    searching.LOADS_AFTER = searching.COMPILES_AFTER = 0.0
    solve(made_problem(8, 5, 0))
    searching.LOADS_AFTER, searching.COMPILES_AFTER = before


def _gap_line(what: str, gaps: list[tuple[float, float]], wanted: str) -> str:
    worst, known_only = (100 * max(gap) for gap in zip(*gaps, strict=True))
    ratio = f"full observability: {known_only:.1f} %"
    return line(f"proven gap, {what}: worst", worst, "%", wanted, ratio)


def _seconds(problem: Problem) -> float:
    begun = time.process_time()
    assert solve(problem).exact
    return time.process_time() - begun


def _states_with_known_causes_only(problem: Problem) -> float:
    """Beliefs met with the floor of pairs, over those without."""
    with_pairs = solve(problem).states

    def fewer(problem: Problem, *rest: object) -> Given:
        given = given_of(problem, *rest)  # type: ignore[arg-type]  # handed on as they are
        return given._replace(pair=np.zeros((0, 0, len(given.grid))))

    engine.given_of = fewer  # type: ignore[assignment]  # for this measurement only
    try:
        return with_pairs / solve(problem).states
    finally:
        engine.given_of = given_of


def _gap(problem: Problem, seconds: float) -> tuple[float, float]:
    """Proven gap of the plan, and its gap to full observability."""
    found = solve(problem, seconds=seconds)
    state = start(problem)
    given = given_of(problem, state.tables)
    floor = mean(state.weights, known(given, state.weights, 0, 0))
    return found.gap, 1.0 - floor / found.upper_bound
