"""Commands on a Dask cluster that loses a worker midway: what they print is as with one process.

They start a scheduler, two workers and a command each, so they are long tests.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from clustered import two_workers
from tubside.cli import main
from tubside.pack.new_family import begin_family

TABLES, JOBS = 16, 4000


def alone(*order: str) -> str:
    """What a command prints where one process does all."""
    done = CliRunner().invoke(main, list(order))
    assert done.exit_code == 0, done.output
    return done.stdout


def on_a_cluster_that_loses_one(*order: str) -> str:
    """What it prints on two workers, one of which is killed at work."""
    with two_workers() as cluster:
        command = [sys.executable, "-m", "tubside", *order, "--scheduler", cluster.address]
        running = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        try:
            cluster.kill_at_work("worker-0", running)
            told, _ = running.communicate()
        finally:
            running.kill()
        assert running.returncode == 0
        assert cluster.workers["worker-1"].poll() is None
    return told


def table(number: int) -> str:
    """Invented closed jobs of one shop, as CSV."""
    causes = ("pump_blocked", "heater_open", "belt_worn")
    lines = [
        f"job-{number}-{n},2026-{1 + n % 12:02}-02,dryer,{causes[(n + number) % 3]}=1,seen"
        for n in range(JOBS)
    ]
    return "\n".join(["job,closed,family,causes,sure", *lines, ""])


@pytest.mark.soak
def test_learning_from_tables_outlives_a_worker(tmp_path: Path) -> None:
    """Tests that ``tubside learn`` proposes the same, number for number."""
    pytest.importorskip("duckdb", reason="DuckDB is absent: pip install 'tubside[history]'")
    files = [tmp_path / f"jobs-{number:02}.csv" for number in range(TABLES)]
    for number, file in enumerate(files):
        file.write_text(table(number), encoding="utf-8")
    order = ("learn", *map(str, files), "--all", "--json")
    told = alone(*order)
    assert f'"jobs": {TABLES * JOBS}' in told
    assert on_a_cluster_that_loses_one(*order) == told


@pytest.mark.soak
def test_a_trial_outlives_a_worker(tmp_path: Path) -> None:
    """Tests that ``tubside trial`` tells the same of every policy, to the last digit."""
    begin_family("small", tmp_path)
    order = ("trial", "--family", "small", "--packs", str(tmp_path), "--calls", "100", "--json")
    assert on_a_cluster_that_loses_one(*order) == alone(*order)
