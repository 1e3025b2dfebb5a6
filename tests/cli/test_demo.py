"""The demonstration runs by itself, quickly, always the same, to the confirmed causes."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tubside.cli.demo_job import demo_jobs
from tubside.service.knowledge import knowledge_of

COMMAND = [sys.executable, "-m", "tubside", "demo"]
LONGEST = 10.0
ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}


def run(*options: str, **environ: str) -> subprocess.CompletedProcess[str]:
    """Run the demonstration with nothing to read from, at 80 columns."""
    env = os.environ | ONE_THREAD | {"COLUMNS": "80", "PYTHONIOENCODING": "utf-8"} | environ
    return subprocess.run(
        [*COMMAND, *options],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        stdin=subprocess.DEVNULL,
        env=env,
    )


def timed(cache: Path) -> tuple[str, float]:
    """Return what a first run prints, nothing kept from before, and its seconds.

    On a machine busy with other things its own computing time counts, in one thread
    so that waiting for the others is not counted.
    """
    began, worked = time.perf_counter(), _children()
    got = run("--no-serve", XDG_CACHE_HOME=str(cache))
    seconds = min(time.perf_counter() - began, _children() - worked)
    assert got.returncode == 0, got.stderr
    assert got.stderr == ""
    return got.stdout, seconds


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, float]:
    """Return what the first run prints, and its seconds."""
    return timed(tmp_path_factory.mktemp("cache"))


def _children() -> float:
    times = os.times()
    return times.children_user + times.children_system


def words(text: str) -> str:
    """Return the text on one line."""
    return re.sub(r"\s+", " ", text)


def test_it_is_quick(shown: tuple[str, float], tmp_path: Path) -> None:
    """Tests that a first run, packs compiled on the way, takes less than ten seconds."""
    assert shown[1] < LONGEST or timed(tmp_path)[1] < LONGEST


def test_it_ends_with_the_confirmed_causes(shown: tuple[str, float]) -> None:
    """Tests that each call comes in order, and ends with the title of its hidden cause."""
    jobs = demo_jobs()
    calls = re.split(r"─+ +Call \d: ", shown[0])[1:]
    assert len(calls) == len(jobs)
    for job, call in zip(jobs[:-1], calls[:-1], strict=True):
        title = knowledge_of(job.source.job).pack.causes[job.file.truth.cause].title
        end = words(call)[-700:]
        assert re.search(rf"(Cause confirmed|What it really was): {re.escape(title)}", end)
        assert job.file.found in end
        assert "Cost to both sides: " in end


def test_the_dangerous_call_is_only_made_safe(shown: tuple[str, float]) -> None:
    """Tests that after tripping nothing is asked: the strip to stop, and the end."""
    last = words(shown[0].rpartition("Call 4: ")[2])
    assert "STOP" in last
    assert "Read out" not in last
    assert "Do: " not in last


def test_cautions_come_before_the_words_to_read_out(shown: tuple[str, float]) -> None:
    """Tests that within each step a caution never follows the instruction."""
    steps = re.split(r"^ *\d+  (?=On the phone|At the machine)", shown[0], flags=re.MULTILINE)[1:]
    assert any("CAUTION" in step for step in steps)
    for step in steps:
        told = re.search(r"Read out: |Do: ", step)
        assert told, step
        assert step.rfind("CAUTION") < told.start()


@pytest.mark.soak
def test_it_is_the_same_every_time_and_without_unicode(
    shown: tuple[str, float], tmp_path: Path
) -> None:
    """Tests that a second run says the same words, in a poor terminal."""
    got = run("--no-serve", PYTHONIOENCODING="ascii", XDG_CACHE_HOME=str(tmp_path))
    assert got.returncode == 0, got.stderr
    assert got.stdout.isascii()
    letters = r"[A-Za-z0-9.]{2,}"
    assert re.findall(letters, got.stdout) == re.findall(letters, shown[0])
