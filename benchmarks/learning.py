"""Learning from all the jobs of one shop: counting them, then every proposal."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from timing import line, median_ms

from tubside.learning.alarms import alarms
from tubside.learning.consequences import consequences
from tubside.learning.counts import counted
from tubside.learning.proposal import Whose
from tubside.learning.proposing import proposals
from tubside.pack.home import pack_folder
from tubside.pack.reading import read_pack
from tubside.trial.shop_jobs import bench_of, closed_jobs
from tubside.trial.shops import draw_truth

JOBS = 5000


def report() -> Iterator[str]:
    """Rows for the largest pack."""
    source = read_pack(pack_folder("top_load"))
    rng = np.random.default_rng(1)
    jobs = closed_jobs(bench_of(source.pack), draw_truth(source.pack, rng), JOBS, rng)
    whose, counts = Whose("top_load", "mill-lane"), counted(jobs)
    found = proposals(counts, source.pack, whose)
    counting = median_ms(lambda: counted(jobs), 5)
    learning = median_ms(lambda: proposals(counts, source.pack, whose), 5)
    yield line(
        f"learn from {JOBS} jobs: count and propose",
        (counting + learning) / 1e3,
        "s",
        "<= 1 s",
        f"counting {counting / 1e3:.2f} s, {len(found)} proposals {learning / 1e3:.2f} s",
    )
    moved = median_ms(lambda: consequences(source, found), 3)
    yield line("shares per complaint, all proposals chosen", moved / 1e3, "s", "reported")
    yield line(
        "alarms over all causes",
        median_ms(lambda: alarms(counts, source.pack, whose), 3) / 1e3,
        "s",
        "reported",
    )
