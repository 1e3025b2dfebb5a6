"""What is learned from is read again when something of it changed, and only then."""

from __future__ import annotations

from pathlib import Path

import pytest

from stores import Ticking
from tubside.learning.counts import counted
from tubside.service.after_records import ReturnOf
from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.jobs import new_job, record, take_back
from tubside.service.learning import remembered as remembering
from tubside.service.learning.history import closed_jobs
from tubside.service.learning.remembered import remembered
from tubside.service.library import Library
from tubside.service.records import Body, CheckDone, Closing, Machine, Payer, Reported
from tubside.store.brought import drop_brought, keep_brought
from tubside.store.opening import Store

CALL: tuple[Body, ...] = (
    Machine(family="front_load", age_years=7),
    Reported(conditions=["wont_drain"]),
)
SCREEN = CheckDone(check="strainer", outcome="blocked", by="technician")
SEEN = Closing(causes=["pump-object"], confirmed_by="seen")
LIBRARY = Library()


def a_closed_job(store: Store, author: Author) -> str:
    """One job, closed."""
    job = new_job(store, author, CALL)
    record(store, job, author, SEEN)
    return job


def test_what_did_not_change_is_not_read_again(
    store: Store, author: Author, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests that facts that nobody learns from leave rows and counts as they are."""
    job = a_closed_job(store, author)
    first = remembered(store, LIBRARY)
    assert [one.job for one in first.jobs] == [job]
    assert first.counts == counted(closed_jobs(store, LIBRARY))
    monkeypatch.setattr(remembering, "closed_jobs", None)  # to be read again would fail
    record(store, job, author, Payer(who="landlord"))
    new_job(store, author, CALL)
    assert remembered(store, LIBRARY) is first
    assert remembered(store, LIBRARY).counts is first.counts


def test_every_change_is_seen(store: Store, author: Author) -> None:
    """Tests new facts, one taken back, a return, and old jobs brought in and out."""
    job = a_closed_job(store, author)
    texts = {"old-1": '{"job":"old-1","closed":"2024-02-13","family":"front_load"}'}
    seen = [remembered(store, LIBRARY).jobs]

    def changed() -> bool:
        seen.append(remembered(store, LIBRARY).jobs)
        rows = closed_jobs(store, LIBRARY)
        assert seen[-1][: len(rows)] == rows
        return seen[-1] != seen[-2]

    check = record(store, job, author, SCREEN)
    assert changed()
    take_back(store, job, author, check)
    assert changed()
    a_closed_job(store, author)
    assert changed()
    new_job(store, author, [*CALL, ReturnOf(job=job)])
    assert changed()
    with store.writing() as opened:
        keep_brought(opened, texts, author.clock())
    assert changed()
    with store.writing() as opened:
        drop_brought(opened)
    assert changed()


def test_another_process_and_another_shop(author: Author, clock: Ticking, tmp_path: Path) -> None:
    """Tests that a fact kept through another connection counts, and that shops stay apart."""
    one, same, other = (open_data(tmp_path / name, clock) for name in ("one", "one", "other"))
    job = a_closed_job(one, author)
    assert [row.job for row in remembered(same, LIBRARY).jobs] == [job]
    assert remembered(other, LIBRARY).jobs == ()
    record(same, job, author, SCREEN)
    assert remembered(one, LIBRARY).jobs == remembered(same, LIBRARY).jobs
    assert remembered(one, LIBRARY).jobs[0].checks
    for store in (one, same, other):
        store.close()


def test_a_changed_pack_is_read_with(
    store: Store, author: Author, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests that rows are read anew where packs and own changes are others."""
    a_closed_job(store, author)
    library = Library()
    first = remembered(store, library)
    monkeypatch.setattr(library, "content_hash", lambda _job: "another")
    assert remembered(store, library) is not first
