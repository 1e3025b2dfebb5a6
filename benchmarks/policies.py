"""How much dearer each policy is than the best plan, on the random problems that are kept."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from timing import line, median_ms

from tubside.diagnosis.solve.drawn import KINDS, draw
from tubside.diagnosis.solve.policies import MAKERS, policy_of
from tubside.diagnosis.solve.policies.value import policy_value
from tubside.diagnosis.solve.state import start

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "plugins"))

from frozen import Frozen, frozen


def report() -> Iterator[str]:
    """Rows of gaps for each policy and kind, then the time of a step at 20 x 20 x 15."""
    gaps: dict[tuple[str, str], list[float]] = {}
    spent = dict.fromkeys(MAKERS, 0.0)
    for case in frozen():
        for name, share, seconds in _gaps(case):
            gaps.setdefault((name, case.kind), []).append(100.0 * share)
            spent[name] += seconds
    for name in MAKERS:
        for kind in KINDS:
            of_kind = gaps[name, kind]
            yield _row(f"{name}, {kind}", of_kind, "reported")
        every = [gap for kind in KINDS for gap in gaps[name, kind]]
        wanted = "<= 0.5 %" if name == "advised" else "reported"
        ours = [gap for kind in KINDS for gap in gaps["advised", kind]]
        ratio = f"{np.mean(every) / np.mean(ours):.0f} times ours; {spent[name]:.0f} s in all"
        yield _row(f"{name}, all {len(every)}", every, wanted, ratio)
    yield from _step_times()


def _gaps(case: Frozen) -> Iterator[tuple[str, float, float]]:
    """Each policy with its gap as a share, and how long following it took [s]."""
    problem = case.problem()
    tables = start(problem).tables
    for name in MAKERS:
        begun = time.perf_counter()
        cost = policy_value(problem, policy_of(name, problem, tables)).cost
        yield name, cost / case.best - 1.0, time.perf_counter() - begun


def _row(what: str, gaps: list[float], wanted: str, ratio: str = "") -> str:
    spread = f"90 %: {np.quantile(gaps, 0.9):.1f}, worst {max(gaps):.1f}"
    return line(f"gap, {what}: mean", float(np.mean(gaps)), "%", wanted, f"{spread}  {ratio}")


def _step_times() -> Iterator[str]:
    for single in (True, False):
        for kind in KINDS:
            problem = draw(KINDS[kind], 20, 15, 1, single_fault=single)
            state = start(problem)
            policy = policy_of("advised", problem, state.tables)
            took = median_ms(lambda p=policy, s=state: p.choose([s]), 5)  # type: ignore[misc]
            faults = "one fault" if single else "several faults"
            yield line(f"step of 20 x 20 x 15, {kind}, {faults}", took, "ms", "<= 200 ms")
