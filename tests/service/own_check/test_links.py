"""Tests of the signed links of a customer's own check."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

import pytest
from itsdangerous import URLSafeSerializer

from tubside.errors import LinkError, NotThereError
from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.jobs import new_job
from tubside.service.own_check.links import KEY, SALT, door_link, job_link, opened_by
from tubside.service.records import DangerTold
from tubside.store.opening import Store
from tubside.store.settings import setting

NOON = datetime(2026, 3, 4, 12, tzinfo=UTC)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """An empty shop."""
    opened = open_data(tmp_path, lambda: NOON)
    yield opened
    opened.close()


def a_job(store: Store, name: str) -> str:
    """A job of that name."""
    numbers = count()
    return new_job(
        store, Author("server", lambda: NOON, lambda: f"{name}-{next(numbers)}"), [DangerTold()]
    )


def test_a_link_opens_its_job_alone(store: Store) -> None:
    """Tests that each job has a link of its own, and a link of the door opens none."""
    jobs = [a_job(store, f"job-number-{n}") for n in range(2)]
    links = [job_link(store, job, NOON) for job in jobs]
    assert [opened_by(store, link, NOON).job for link in links] == jobs
    assert opened_by(store, door_link(store, NOON), NOON).job is None


def test_forged_links_are_refused(store: Store) -> None:
    """Tests that no changed, foreign or made-up token opens anything."""
    first, second = (a_job(store, f"job-number-{n}") for n in range(2))
    link, other = job_link(store, first, NOON), job_link(store, second, NOON)
    body, _, signature = link.partition(".")
    bound = ["job", first, int((NOON + timedelta(days=9)).timestamp())]
    forged = [
        f"{other.partition('.')[0]}.{signature}",  # signature of another job
        f"{body}x.{signature}",
        f"{body}.{'A' if signature[0] != 'A' else 'B'}{signature[1:]}",  # the last has idle bits
        body,
        "",
        ".",
        "é" * 20,
        URLSafeSerializer("guess", salt=SALT).dumps(bound),
        URLSafeSerializer("", salt=SALT).dumps(bound),
    ]
    for token in forged:
        with pytest.raises(LinkError, match="not right"):
            opened_by(store, token, NOON)


def test_a_link_of_another_purpose_is_refused(store: Store) -> None:
    """Tests that a token signed by the shop for something else, with the same key, is refused."""
    link = job_link(store, a_job(store, "job-number-1"), NOON)
    with store.reading() as opened:
        key = str(setting(opened, KEY))
    until = int((NOON + timedelta(days=9)).timestamp())
    for salt, bound in (
        (("tubside.quote"), ["job", "job-number-1-0", until]),
        (SALT, ["quote", "x" * 9, until]),
    ):
        with pytest.raises(LinkError, match="not right"):
            opened_by(store, str(URLSafeSerializer(key, salt=salt).dumps(bound)), NOON)
    assert opened_by(store, link, NOON).job == "job-number-1-0"


def test_links_end(store: Store) -> None:
    """Tests that a link is good up to its last moment and not after."""
    link = job_link(store, a_job(store, "job-number-1"), NOON)
    last = NOON + timedelta(days=7)
    assert opened_by(store, link, last - timedelta(seconds=1)).until == last
    with pytest.raises(LinkError, match="past its last day"):
        opened_by(store, link, last)


def test_a_new_door_shuts_the_old(store: Store) -> None:
    """Tests that the door's papers hold until the shop makes a new door."""
    old = door_link(store, NOON)
    assert opened_by(store, door_link(store, NOON), NOON).job is None
    new = door_link(store, NOON, anew=True)
    assert opened_by(store, new, NOON).job is None
    with pytest.raises(LinkError, match="not right"):
        opened_by(store, old, NOON)


def test_no_link_to_a_job_that_is_not_there(store: Store) -> None:
    """Tests that only a job of the shop gets a link."""
    with pytest.raises(NotThereError):
        job_link(store, "nothing-here", NOON)
