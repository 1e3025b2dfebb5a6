"""The list of jobs, advice noted when it changes, and many at once, on each kind of database."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from calls_taken import CALL, DANGEROUS
from stores import START
from tubside.service import viewing
from tubside.service.advise import advise
from tubside.service.authors import Author
from tubside.service.jobs import (
    job_lines,
    job_view,
    new_job,
    record,
    record_advice,
)
from tubside.service.library import Library
from tubside.service.people import PersonData, add_person
from tubside.service.records import (
    AdviceShown,
    CheckDone,
    Closing,
    Payer,
    PersonNamed,
    Visit,
)
from tubside.store.opening import Store


@pytest.fixture(scope="module")
def library() -> Library:
    """Return the packs that come with the program."""
    return Library()


@pytest.fixture(autouse=True)
def small_beliefs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep few sets: what is tested here does not depend on how many."""
    monkeypatch.setattr(viewing, "advise", lambda source, known: advise(source, known, 60))


def test_advice_is_noted_when_it_changes(store: Store, author: Author, library: Library) -> None:
    """Tests that what was advised is a fact with its content hash, once for each change."""
    job = new_job(store, author, CALL)
    noted = record_advice(store, library, job, author)
    assert record_advice(store, library, job, author) is None
    view = job_view(store, library, job)
    entry = view.entries[-1]
    assert view.advice is not None
    assert view.advice.first is not None
    assert (entry.id, entry.computed_from) == (noted, view.computed_from)
    assert isinstance(entry.body, AdviceShown)
    assert entry.body.first == view.advice.first.id
    record(store, job, author, CheckDone(check="foam", outcome="over", by="customer"))
    assert record_advice(store, library, job, author) is not None
    other = new_job(store, author, DANGEROUS)
    assert record_advice(store, library, other, author) is None


def test_the_list_of_jobs(store: Store, author: Author, library: Library) -> None:
    """Tests what the list tells of each job, and the order it is in."""
    first, second = new_job(store, author, CALL), new_job(store, author, DANGEROUS)
    add_person(store, "person-0001", PersonData(name="Ada Quill", address="Mill Lane"), START)
    record_advice(store, library, first, author)
    record(store, first, author, PersonNamed(ref="person-0001"))
    lines = job_lines(store, library)
    assert [line.id for line in lines] == [first, second]
    top = lines[0]
    assert (top.machine, top.trouble) == ("Aldermoor Tern", ("pause 3 blinks",))
    assert (top.person, top.place, top.danger) == ("Ada Quill", "Mill Lane", False)
    view = job_view(store, library, first)
    assert view.advice is not None
    assert top.leading == view.advice.causes[0].title
    assert lines[1].danger
    assert lines[1].leading is None
    record(store, second, author, Visit(status="booked"))
    assert [line.id for line in job_lines(store, library)] == [second, first]
    record(store, first, author, Closing(confirmed_by="seen"))
    assert [line.id for line in job_lines(store, library)] == [second]
    assert [line.id for line in job_lines(store, library, closed=True)] == [first]


def test_the_list_goes_on(store: Store, author: Author, library: Library) -> None:
    """Tests that pages of the list together hold every job once."""
    jobs = [new_job(store, author, DANGEROUS) for _ in range(7)]
    seen: list[str] = []
    while page := job_lines(store, library, 3, seen[-1] if seen else None):
        seen += [line.id for line in page]
    assert seen == jobs[::-1]


def test_many_at_once(store: Store, author: Author, library: Library) -> None:
    """Tests that facts written at the same moment are all kept, each with its number."""
    job = new_job(store, author, DANGEROUS)

    def write(number: int) -> str:
        mine = replace(author, fresh_id=lambda: f"thread-{number:03}")
        return record(store, job, mine, Payer(who="customer"))

    with ThreadPoolExecutor(6) as pool:
        written = list(pool.map(write, range(24)))
    view = job_view(store, library, job)
    assert {e.id for e in view.entries} >= set(written)
    assert view.seen == {"server": 25}
