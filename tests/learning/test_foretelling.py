"""Tests of scores, of foretelling jobs before learning from them, and of what stands out."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from tubside.learning.ageing import shapes
from tubside.learning.alarms import alarms
from tubside.learning.calibration import brier_score, log_score, reliability
from tubside.learning.counts import counted
from tubside.learning.history import MILLION, ClosedJob
from tubside.learning.prequential import SAYS, foretold
from tubside.pack.ageing import age_factors
from tubside.pack.reading import PackSource, read_pack
from tubside.trial.shop_jobs import bench_of, closed_jobs
from tubside.trial.shops import draw_truth


@pytest.fixture(scope="module")
def source() -> PackSource:
    """Return the small pack."""
    return read_pack(Path(__file__).parents[1] / "pack" / "small_pack")


@pytest.fixture(scope="module")
def jobs(source: PackSource) -> list[ClosedJob]:
    """Return 300 jobs of a simulated shop."""
    rng = np.random.default_rng(11)
    return closed_jobs(bench_of(source.pack), draw_truth(source.pack, rng), 300, rng)


def test_scores_are_proper() -> None:
    """Tests that what is believed scores best on average, by both scores."""
    believed = np.array([0.6, 0.3, 0.1])
    for other in ([0.7, 0.2, 0.1], [0.5, 0.4, 0.1], [1 / 3, 1 / 3, 1 / 3]):
        both = np.array([believed, other])
        true = np.arange(3)
        logs = [
            believed @ log_score(np.repeat(row[None], 3, 0), true.astype(float)) for row in both
        ]
        briers = [
            believed @ brier_score(np.repeat(row[None], 3, 0), true.astype(float)) for row in both
        ]
        assert logs[0] > logs[1]
        assert briers[0] < briers[1]


def test_reliability_tells_overstatement() -> None:
    """Tests that bins hold what was said in them, and that an overstated chance is off."""
    rng = np.random.default_rng(2)
    said = rng.random(4000)
    honest = reliability(said, (rng.random(4000) < said).astype(float))
    boastful = reliability(said, (rng.random(4000) < said**2).astype(float))
    assert sum(one.times for one in honest) == 4000
    assert sum(one.holds for one in honest) >= 8
    assert sum(one.holds for one in boastful) <= 4


def test_nothing_of_a_job_is_known_when_it_is_foretold(
    source: PackSource, jobs: list[ClosedJob]
) -> None:
    """Tests that another later job changes nothing that was said before it."""
    last = jobs[-1]
    other = next(name for name in source.pack.causes if name not in last.causes)
    changed = [*jobs[:-1], replace(last, causes={other: MILLION}, sure="re-run")]
    one, two = foretold(jobs[:-1], source.pack), foretold(changed, source.pack)
    np.testing.assert_array_equal(one.chances, two.chances[:, :-1])
    assert two.origins[int(two.true[-1])] == other


def test_what_decided_a_cause_is_not_used_to_foretell_it(
    source: PackSource, jobs: list[ClosedJob]
) -> None:
    """Tests that a job is foretold as if its deciding checks had not been made."""
    at = next(n for n, job in enumerate(jobs) if job.decided)
    job = jobs[at]
    left = tuple(told for told in job.checks if told.check not in job.decided)
    without = [*jobs[:at], replace(job, checks=left, decided=frozenset())]
    one, two = foretold(jobs[: at + 1], source.pack), foretold(without, source.pack)
    np.testing.assert_array_equal(one.chances, two.chances)
    vouching = [*jobs[:at], replace(job, decided=frozenset())]
    assert np.abs(foretold(vouching, source.pack).chances - one.chances).max() > 1e-6


def test_learned_is_the_pack_until_something_was_learned(
    source: PackSource, jobs: list[ClosedJob]
) -> None:
    """Tests that both say the same of the first jobs, and sum to one everywhere."""
    told = foretold(jobs, source.pack, every=20)
    early = told.numbers < 20
    np.testing.assert_allclose(told.chances[0, early], told.chances[1, early])
    assert np.abs(told.chances[0, ~early] - told.chances[1, ~early]).max() > 0.02
    np.testing.assert_allclose(told.chances.sum(axis=2), 1.0)
    assert told.chances.shape[0] == len(SAYS)
    assert len(told.true) == sum(job.sure != "not-confirmed" for job in jobs)


def test_no_alarm_in_even_months_one_in_a_rush(source: PackSource) -> None:
    """Tests that a cause which suddenly comes thrice as often is told, with since when."""
    names = list(source.pack.causes)[:4]

    def month(number: int, rush: int) -> list[ClosedJob]:
        day = date(2025 + number // 12, number % 12 + 1, 10)
        often = [rush, 6, 6, 6]
        return [
            ClosedJob(job="j", closed=day, family="small_pack", causes={c: MILLION}, sure="seen")
            for c, count in zip(names, often, strict=True)
            for _ in range(count)
        ]

    even = [job for number in range(12) for job in month(number, 6)]
    assert alarms(counted(even), source.pack) == ()
    rush = [job for number in (12, 13, 14) for job in month(number, 20)]
    found = alarms(counted(even + rush), source.pack)
    assert [(one.cause, one.model) for one in found] == [(names[0], "")]
    assert found[0].since >= "2025-12"
    assert found[0].met > 1.5 * found[0].expected
    assert found[0].false_alarm_months >= 24 * 4 * 0.99


def test_a_busy_month_is_no_alarm(source: PackSource) -> None:
    """Tests that a month with three times the jobs, all causes alike, alarms nothing."""
    names = list(source.pack.causes)[:4]
    jobs = [
        ClosedJob(
            job="j", closed=date(2026, m, 9), family="small_pack", causes={c: MILLION}, sure="seen"
        )
        for m in range(1, 13)
        for c in names
        for _ in range(18 if m == 9 else 6)
    ]
    assert alarms(counted(jobs), source.pack) == ()


def test_a_shape_is_found_again() -> None:
    """Tests that ages drawn under a shape of 3 bring it back from a word of 1.5."""
    rng = np.random.default_rng(3)
    mix = np.full(15, 1 / 15)
    chance = mix * age_factors(np.array([3.0]), mix)[0]
    met = np.bincount(rng.choice(15, 400, p=chance / chance.sum()), minlength=15)[None].astype(
        float
    )
    sharp = shapes(np.vstack([met, 40.0 * mix[None] * 15]), np.array([1.5, 1.0]), mix, 0.35)[0]
    assert sharp.low < 3.0 < sharp.high
    assert sharp.surprises(1.5)
