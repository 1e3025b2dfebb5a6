"""Tests of sharing work out: the same result here, over processes and over a cluster."""

from __future__ import annotations

import time
from concurrent.futures import as_completed
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from clustered import two_workers
from stores import free_port
from tubside.errors import SpreadingError
from tubside.learning.counts import Counts, counted, merged
from tubside.learning.history import MILLION, CheckTold, ClosedJob
from tubside.learning.spreading import counts_shared, sharing, spread

BATCHES, JOBS, FIRST = 60, 150, 6


def job(number: int) -> ClosedJob:
    """Return an invented closed job, much like the one before."""
    return ClosedJob(
        job=f"j{number}",
        closed=date(2026, 1 + number % 12, 2),
        family="dryer",
        causes={f"cause-{number % 7}": MILLION // (1 + number % 3)},
        sure="seen",
        checks=(CheckTold(f"check-{number % 5}", f"out-{number % 4}", "technician"),),
        minutes={"check-1": number % 31},
    )


def batches() -> list[list[ClosedJob]]:
    """Return closed jobs in several batches."""
    return [[job(b * JOBS + n) for n in range(JOBS)] for b in range(BATCHES)]


def _workers(executor: Any) -> dict[str, Any]:
    return dict(executor.client.scheduler_info(n_workers=-1)["workers"])


def test_a_worker_killed_midway_changes_nothing() -> None:
    """Tests that a cluster that loses a worker counts what one process counts, job for job."""
    jobs = batches()
    with two_workers() as started, sharing(scheduler=started.address) as cluster:
        assert cluster is not None
        while len(_workers(cluster)) < 2:
            time.sleep(0.05)
        waiting = [cluster.submit(counted, batch) for batch in jobs]
        found: list[Counts] = []
        for done in as_completed(waiting):
            found.append(done.result())
            if len(found) == FIRST:
                assert not all(one.done() for one in waiting)
                started.kill("worker-0")
        assert [one["name"] for one in _workers(cluster).values()] == ["worker-1"]
    assert merged(found) == counted(one for batch in jobs for one in batch)


def test_processes_count_the_same() -> None:
    """Tests that batches over two processes come back in their order, and add up the same."""
    jobs = batches()[:4]
    with sharing(workers=2) as pool:
        parts = list(spread(counted, jobs, pool))
    assert parts == [counted(batch) for batch in jobs]


def test_no_scheduler_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests an address where nobody answers, and one that is none."""
    pytest.importorskip("distributed", reason="Dask is absent: pip install 'tubside[cluster]'")
    monkeypatch.setattr("tubside.learning.cluster.WAIT_S", 0.3)
    for address in (f"tcp://127.0.0.1:{free_port()}", "no-address"):
        with pytest.raises(SpreadingError, match="scheduler"), sharing(scheduler=address):
            pass


def test_each_table_by_a_worker(tmp_path: Path) -> None:
    """Tests that tables counted apart add up to the tables counted together."""
    pytest.importorskip("duckdb", reason="DuckDB is absent: pip install 'tubside[history]'")
    from tubside.learning.from_tables import counts_of_tables  # noqa: PLC0415  # after the skip

    files = []
    for number in range(2):
        files.append(tmp_path / f"jobs-{number}.csv")
        rows = "".join(f"2026-03-0{n + 1},dryer,a={number}\n" for n in range(3))
        files[-1].write_text(f"closed,family,causes\n{rows}", encoding="utf-8")
    assert counts_shared(files, None) == counts_of_tables(files)
