"""Tests of simulated calls that customers work alone."""

from __future__ import annotations

import pytest

from tubside.diagnosis.next_step import Step
from tubside.pack.fault_model import CUSTOMER
from tubside.service import trials
from tubside.service.knowledge import knowledge_of_family
from tubside.service.trials import Plan, try_own_check
from tubside.trial import own_check
from tubside.trial.job import Job
from tubside.trial.own_check import MOST_STEPS, WAYS, by_frequency, worked_alone


def test_both_ways_meet_the_same_calls(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that a small trial gives shares for both ways, and the same again for the same seed."""
    monkeypatch.setattr(own_check, "AHEAD", (0, 20))
    monkeypatch.setattr(trials, "SETS", 40)
    finished: list[int] = []
    rows = try_own_check(Plan("dryer", "pack", 3, 3), done=finished.append)
    assert [row.way for row in rows] == [way for way, _ in WAYS]
    assert finished == [1, 2, 3]
    assert all(0.0 <= row.cleared.value + row.back.value <= 1.0 for row in rows)
    assert all(0.0 < row.steps.value <= MOST_STEPS for row in rows)
    assert try_own_check(Plan("dryer", "pack", 3, 3)) == rows


def test_no_technician_and_no_danger(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that nobody drives, only safe steps are done, and none after a danger."""
    seen: list[Job] = []

    def watched(job: Job) -> Step | None:
        seen.append(job)
        return by_frequency(job)

    monkeypatch.setattr(own_check, "WAYS", (("frequency list", watched),))
    try_own_check(Plan("dryer", "pack", 40, 5))
    pack = knowledge_of_family("dryer").pack
    dangerous = [c.danger is not None for c in pack.conditions.values()]
    assert all(job.trips == 0 and not job.situation.on_site for job in seen)
    told = [job for job in seen if dangerous[job.reported]]
    assert told
    assert all(worked_alone(job, by_frequency).turns == 0 for job in told)
    remedies = list(pack.remedies.values())
    done = {number for job in seen for number, _ in job.situation.tried}
    assert done
    assert all(remedies[number].customer_step is not None for number in done)
    assert all(who == CUSTOMER for job in seen for _, who in job.situation.tried)
