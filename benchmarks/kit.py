"""The kit for a large day: how long it takes, what is proven of it, and what greed gives."""

from __future__ import annotations

import time
from collections.abc import Iterator

import numpy as np
from timing import line

from tubside.kit.draws import together
from tubside.kit.greedy import greedy_kit
from tubside.kit.loading import best_kit
from tubside.kit.problem import Day, Loading, worth

JOBS, PARTS, SCENARIOS = 12, 120, 400


def report() -> Iterator[str]:
    """Rows for 12 jobs, 120 parts and 400 scenarios, three days drawn."""
    times, gaps, ratios = [], [], []
    for seed in (1, 2, 3):
        day = large_day(seed)
        start = time.perf_counter()
        kit = best_kit(day)
        times.append(time.perf_counter() - start)
        gaps.append(kit.gap)
        ratios.append(worth(day, greedy_kit(day).units) / kit.worth)
    what = f"kit, {JOBS} jobs, {PARTS} parts, {SCENARIOS} scenarios, slowest"
    yield line(what, max(times), "s", "<= 1 s")
    yield line("its proven gap, the largest", 100.0 * max(gaps), "%", "<= 1 %")
    yield line("the greedy kit's worth, of the kit's, the least", min(ratios), "", "below 1")


def large_day(seed: int) -> Day:
    """A day drawn: each job needs one of a dozen sets of up to three parts, or none."""
    rng = np.random.default_rng(seed)
    popular = rng.dirichlet(np.full(PARTS, 0.5))
    jobs = []
    for _ in range(JOBS):
        sets = [
            {int(p): int(rng.integers(1, 3) == 2) + 1 for p in _some(rng, popular)}
            for _ in range(12)
        ]
        jobs.append([*[sets[i] for i in rng.choice(12, 60, p=rng.dirichlet(np.ones(12)))], {}])
    needs = together(jobs, PARTS, SCENARIOS, seed)
    most = rng.integers(0, 4, PARTS)
    aboard = np.minimum(most, rng.random(PARTS) < 0.1).astype(np.int64)
    holding, space = rng.uniform(0.2, 6.0, PARTS), rng.uniform(0.5, 8.0, PARTS)
    loading = Loading(aboard, most, holding, space, float(space @ aboard) + 60.0)
    fit = np.where(rng.random((JOBS, PARTS)) < 0.2, rng.uniform(0.6, 1.0, (JOBS, PARTS)), 1.0)
    return Day(needs, rng.uniform(40.0, 120.0, JOBS), fit, loading)


def _some(rng: np.random.Generator, popular: np.ndarray) -> np.ndarray:
    return rng.choice(PARTS, rng.choice([1, 2, 3], p=[0.7, 0.2, 0.1]), replace=False, p=popular)
