"""Timing for all benchmarks: medians over repeats, and a line with a ratio."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable


def median_ms(work: Callable[[], object], repeats: int = 15) -> float:
    """Median wall time of ``work`` [ms], one run before it not counted."""
    work()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return 1e3 * statistics.median(times)


def line(what: str, measured: float, unit: str, wanted: str, ratio: str = "") -> str:
    """One row of the report."""
    return f"{what:<58} {measured:>9.2f} {unit:<4} wanted {wanted:<12} {ratio}"
