"""The kit for a large day: how long it takes, what is proven of it, and what greed gives."""

from __future__ import annotations

import time
from collections.abc import Iterator
from itertools import product

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
    small = [_against_all(small_day(seed)) for seed in range(20)]
    ours, greedy = (min(pair[n] for pair in small) for n in (0, 1))
    yield line("small days, the kit's worth of the best of all kits', least", ours, "", "1")
    yield line("small days, the greedy kit's worth of the best's, least", greedy, "", "below 1")


def _against_all(day: Day) -> tuple[float, float]:
    """The kit's worth and the greedy one's, each of the worth of the best of all kits."""
    loading = day.loading
    choices = [range(a, m + 1) for a, m in zip(loading.aboard, loading.most, strict=True)]
    kits = [np.array(kit) for kit in product(*choices)]
    best = max(worth(day, kit) for kit in kits if loading.space @ kit <= loading.room)
    return best_kit(day).worth / best, worth(day, greedy_kit(day).units) / best


def small_day(seed: int) -> Day:
    """Four jobs, five parts, forty scenarios, and little room."""
    rng = np.random.default_rng(seed)
    needs = rng.binomial(2, 0.2, (4, 40, 5)).astype(np.int64)
    aboard, most = np.zeros(5, dtype=np.int64), rng.integers(1, 4, 5)
    loading = Loading(aboard, most, rng.uniform(0.5, 5.0, 5), rng.uniform(1.0, 3.0, 5), 9.0)
    return Day(needs, rng.uniform(40.0, 120.0, 4), rng.uniform(0.7, 1.0, (4, 5)), loading)


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
    return np.asarray(
        rng.choice(PARTS, rng.choice([1, 2, 3], p=[0.7, 0.2, 0.1]), replace=False, p=popular)
    )
