"""Whole processes: ``tubside --help``, and ``tubside next`` without and with its plan."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from timing import line, median_ms

JOB = (
    "family: top_load\nreported: [wont_spin]\nfacts:\n  - {check: water-standing, outcome: 'yes'}\n"
)


def report() -> Iterator[str]:
    """Rows against the time of a bare interpreter in the same run."""
    bare = median_ms(lambda: _run("-c", "pass"), 7)
    yield line("bare interpreter", bare, "ms", "reference")
    told = median_ms(lambda: _run("-m", "tubside", "--help"), 7)
    yield line("tubside --help", told, "ms", "<= 300 ms", f"{told / bare:.1f} x bare")
    with tempfile.TemporaryDirectory() as folder:
        job = Path(folder) / "job.yaml"
        job.write_text(JOB, encoding="utf-8")
        step = ("-m", "tubside", "next", str(job), "--json", "--effort", "0")
        took = median_ms(lambda: _run(*step), 7)
        plan = median_ms(lambda: _run(*step[:-2]), 3)
    named = "tubside next --effort 0, compiled pack kept"
    yield line(named, took, "ms", "<= 1000 ms", f"{took / bare:.1f} x bare")
    yield line("tubside next with its plan", plan, "ms", "<= 3000 ms", f"{plan / bare:.1f} x bare")


def _run(*words: str) -> None:
    subprocess.run([sys.executable, *words], check=True, stdout=subprocess.DEVNULL)  # noqa: S603  # our own program
