"""Facts are appended once, and nothing is changed."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from tubside.errors import FactClashError
from tubside.service.replay import row_of
from tubside.store import facts, job_rows
from tubside.store.facts import FactRow
from tubside.store.opening import Store

AT = datetime(2026, 3, 2, 9, tzinfo=UTC)
FIRST = FactRow(
    id="fact-0001",
    job="job-00001",
    device="van-1",
    sequence=1,
    at=AT,
    seen="{}",
    kind="came-back",
    body='{"kind":"came-back"}',
    retracts=None,
    computed_from=None,
    received_at=AT,
)


@pytest.fixture
def with_job(store: Store) -> Store:
    """Return a store with one job and no fact."""
    with store.writing() as opened:
        job_rows.put(opened, row_of(FIRST.job, [FIRST]))
    return store


def test_the_same_again_changes_nothing(with_job: Store) -> None:
    """Tests that a fact sent twice, received later the second time, is kept once."""
    later = replace(FIRST, received_at=AT + timedelta(hours=1))
    with with_job.writing() as opened:
        assert facts.append(opened, [FIRST]) == [FIRST]
        assert facts.append(opened, [later, later]) == []
        assert facts.of_job(opened, FIRST.job) == [FIRST]


@pytest.mark.parametrize(
    "change",
    [
        {"body": "{}"},
        {"job": "job-00002"},
        {"device": "van-2"},
        {"sequence": 2},
        {"at": AT + timedelta(microseconds=1)},
        {"seen": '{"van-2":1}'},
        {"computed_from": "a" * 64},
        {"retracts": "fact-0009"},
    ],
    ids=lambda change: next(iter(change)),
)
def test_another_fact_under_the_id_is_refused(with_job: Store, change: dict[str, object]) -> None:
    """Tests that an id stands for one fact, in each of its parts."""
    other = replace(FIRST, **change)  # type: ignore[arg-type]
    with with_job.writing() as opened:
        facts.append(opened, [FIRST])
        with pytest.raises(FactClashError, match="another fact has the id"):
            facts.append(opened, [other])


def test_a_number_is_given_once(with_job: Store) -> None:
    """Tests that a device cannot use a number twice, at once or later."""
    twin = replace(FIRST, id="fact-0002")
    with with_job.writing() as opened:
        with pytest.raises(FactClashError, match="number 1"):
            facts.append(opened, [FIRST, twin])
        facts.append(opened, [FIRST])
        with pytest.raises(FactClashError, match="number 1"):
            facts.append(opened, [twin])
        assert facts.next_sequence(opened, "van-1") == 2
        assert facts.next_sequence(opened, "van-2") == 1
