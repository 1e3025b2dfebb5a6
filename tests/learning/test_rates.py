"""Tests of how often jobs of a cause are cleared without a visit, and are returns."""

from __future__ import annotations

from dataclasses import replace

import pytest

from some_jobs import OFTEN, some_jobs
from tubside.learning.counts import counted
from tubside.learning.rates import (
    CALLBACK_WORTH,
    CALLBACKS,
    PHONE_WORTH,
    Rates,
    by_customers,
    rates,
)
from tubside.service.library import Library

PACK = Library().family("front_load").pack
JOBS = some_jobs(20, 0)


def of_often(*jobs_in: object) -> Rates:
    """Return the rates of the cause that is met often."""
    found = rates(counted(jobs_in), PACK)  # type: ignore[arg-type]  # closed jobs
    return next(one for one in found if one.cause == OFTEN)


def test_by_hand() -> None:
    """Tests both shares after twenty jobs: five without a visit, one a return."""
    by_phone = [replace(job, by_phone=True) for job in JOBS[:5]]
    found = of_often(*by_phone, replace(JOBS[5], callback_of="job-0"), *JOBS[6:])
    said = by_customers(PACK)[OFTEN]
    assert found.said_by_phone == said
    assert found.by_phone.mean == pytest.approx((PHONE_WORTH * said + 5) / (PHONE_WORTH + 20))
    wanted = (CALLBACK_WORTH * CALLBACKS + 1) / (CALLBACK_WORTH + 20)
    assert found.callback.mean == pytest.approx(wanted)


def test_what_customers_clear_is_the_packs_best_chance() -> None:
    """Tests that it is the best chance of any remedy, by a customer, against that cause."""
    chances = [
        remedy.clears[OFTEN].customer or 0.0
        for remedy in PACK.remedies.values()
        if OFTEN in remedy.clears
    ]
    assert by_customers(PACK)[OFTEN] == max(chances)


def test_a_job_in_doubt_says_nothing() -> None:
    """Tests that a job whose cause nobody made sure leaves both shares as they were."""
    doubtful = replace(JOBS[0], sure="not-confirmed", by_phone=True, callback_of="job-0")
    assert of_often(*JOBS, doubtful) == of_often(*JOBS)
