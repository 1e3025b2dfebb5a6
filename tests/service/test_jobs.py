"""Jobs from the first ring to the closing, on each kind of database."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

import pytest

from calls_taken import CALL, DANGEROUS
from stores import START
from tubside.errors import (
    FactClashError,
    FactError,
    FactsDisagreeError,
    JobFileError,
    NotThereError,
)
from tubside.service import viewing
from tubside.service.advise import advise
from tubside.service.attachments import erase_words, read_photo
from tubside.service.authors import Author, Written
from tubside.service.job_file import parse_job
from tubside.service.jobs import (
    check_body,
    job_lines,
    job_view,
    new_job,
    record,
    record_written,
    take_back,
)
from tubside.service.library import Library
from tubside.service.people import read_person
from tubside.service.records import (
    CheckDone,
    Consent,
    DangerTold,
    Machine,
    Payer,
    RemedyDone,
    Reported,
    Retract,
)
from tubside.service.told import tell
from tubside.store.opening import Store


@pytest.fixture(scope="module")
def library() -> Library:
    """Return the packs that come with the program."""
    return Library()


@pytest.fixture(autouse=True)
def small_beliefs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep few sets: what is tested here does not depend on how many."""
    monkeypatch.setattr(viewing, "advise", lambda source, known: advise(source, known, 60))


def test_the_view_is_the_advice_on_the_same_job_file(
    store: Store, author: Author, library: Library
) -> None:
    """Tests that facts one by one lead to what a job file of them leads to."""
    job = new_job(store, author, [*CALL, Reported(when="drain", how_often="every-time")])
    record(store, job, author, CheckDone(check="foam", outcome="none", by="customer"))
    view = job_view(store, library, job)
    source = parse_job(
        "model: aldermoor-tern\nage_years: 9\nindication: {lamps: {pause: 3 blinks}}\n"
        "when: drain\nhow_often: every-time\n"
        "facts: [{check: foam, outcome: none, by: customer}]\n"
    )
    assert view.advice == tell(advise(source, library.of(source.job), 60))
    assert view.computed_from == library.content_hash(source.job)


def test_advice_is_kept(
    store: Store, author: Author, library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests that a job looked at again is not computed again, also after a restart."""
    job = new_job(store, author, CALL)
    first = job_view(store, library, job)
    monkeypatch.setattr(viewing, "advise", None)
    assert job_view(store, Library(), job).advice == first.advice is not None


def test_danger_comes_first_and_needs_no_machine(
    store: Store, author: Author, library: Library
) -> None:
    """Tests that a danger told in the first seconds has its words at once."""
    view = job_view(store, library, new_job(store, author, DANGEROUS))
    assert view.dangers == ("shock", "water-at-plug")
    assert [step.danger for step in view.safety] == ["shock", "water-at-plug"]
    assert view.advice is None
    assert view.danger_asked


def test_no_advice_before_there_is_a_trouble(
    store: Store, author: Author, library: Library
) -> None:
    """Tests that a machine alone, or a trouble alone, is not enough to advise on."""
    job = new_job(store, author, [Machine(family="top_load")])
    assert job_view(store, library, job).advice is None
    other = new_job(store, author, [Reported(conditions=["wont_spin"])])
    assert job_view(store, library, other).advice is None
    record(store, job, author, Reported(conditions=["wont_spin"]))
    assert job_view(store, library, job).advice is not None


def test_a_take_back_undoes(store: Store, author: Author, library: Library) -> None:
    """Tests that after a take-back the advice is what it was before the fact."""
    job = new_job(store, author, CALL)
    before = job_view(store, library, job)
    fact = record(store, job, author, CheckDone(check="foam", outcome="over", by="customer"))
    assert job_view(store, library, job).advice != before.advice
    taker = take_back(store, job, author, fact, "looked-again")
    after = job_view(store, library, job)
    assert after.advice == before.advice
    assert {e.id: e.retracted_by for e in after.entries}[fact] == taker
    assert after.entries[-1].body == Retract(fact=fact, reason="looked-again")


def test_facts_that_cannot_all_be_true(
    store: Store, author: Author, library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests that a contradiction is told instead of advice, and found only once."""
    job = new_job(store, author, CALL)

    def clash(_source: object, _known: object) -> None:
        raise FactsDisagreeError(["foam: none", "foam: over"])

    monkeypatch.setattr(viewing, "advise", clash)
    first = job_view(store, library, job)
    monkeypatch.setattr(viewing, "advise", None)
    for view in (first, job_view(store, library, job)):
        assert view.advice is None
        assert view.disagree == ("foam: none", "foam: over")
        assert view.problems == ()


def test_what_the_pack_does_not_know(store: Store, author: Author, library: Library) -> None:
    """Tests that a fact of an unknown id is refused beforehand, and pointed at afterwards."""
    job = new_job(store, author, CALL)
    view = job_view(store, library, job)
    wrong = CheckDone(check="foam", outcome="purple", by="customer")
    with pytest.raises(JobFileError, match="no outcome of foam 'purple'"):
        check_body(library, view, wrong)
    check_body(library, view, CheckDone(check="foam", outcome="some", by="customer"))
    record(store, job, author, wrong)
    after = job_view(store, library, job)
    assert after.advice is None
    assert [problem.line for problem in after.problems] == [4]
    check_body(library, after, CheckDone(check="foam", outcome="some", by="customer"))


def test_an_unknown_model_is_a_problem(store: Store, author: Author, library: Library) -> None:
    """Tests that a model nobody knows does not end the page."""
    job = new_job(store, author, [Machine(model="no-such-model"), DangerTold(kinds=["smoke"])])
    view = job_view(store, library, job)
    assert "no model" in view.problems[0].what
    assert view.dangers == ("smoke",)
    assert job_lines(store, library)[0].machine == "no-such-model"


def test_a_form_sent_twice_counts_once(store: Store, author: Author, library: Library) -> None:
    """Tests that the same fact under a form's id is kept once, and another is refused."""
    job = new_job(store, author, CALL)
    form = replace(author, fresh_id=lambda: "form-0001")
    payer = Payer(who="landlord")
    assert record(store, job, form, payer) == record(store, job, form, payer) == "form-0001"
    assert len(job_view(store, library, job).entries) == 4
    with pytest.raises(FactClashError):
        record(store, job, form, Payer(who="insurer"))


def test_a_call_sent_twice_is_one_job(store: Store, author: Author, library: Library) -> None:
    """Tests that the form which opens a job may be sent again."""

    def ids() -> Callable[[], str]:
        return iter(["job-00009", "first-001", "second-01"]).__next__

    for _ in range(2):
        assert new_job(store, replace(author, fresh_id=ids()), CALL[:2]) == "job-00009"
    assert len(job_view(store, library, "job-00009").entries) == 2


def test_what_the_page_had_seen_is_kept(store: Store, author: Author, library: Library) -> None:
    """Tests that a check sent from a page older than a remedy is in doubt."""
    job = new_job(store, author, CALL)
    old = job_view(store, library, job)
    phone = replace(author, device="other-browser")
    record(store, job, author, RemedyDone(remedy="clean-pump", outcome="works", by="technician"))
    look = CheckDone(check="foam", outcome="over", by="customer")
    record(store, job, phone, look, old.computed_from, old.seen)
    doubt = {e.id for e in job_view(store, library, job).entries if e.doubtful}
    assert len(doubt) == 1
    fresh = record(store, job, phone, look)
    assert fresh not in {e.id for e in job_view(store, library, job).entries if e.doubtful}


def test_facts_from_a_phone(store: Store, author: Author, library: Library) -> None:
    """Tests that facts made without signal are taken once, with where they came from."""
    written = Written("phone-0001", "phone", 1, START, {}, "a" * 64)
    fact = (written, DangerTold(kinds=["smoke"]))
    assert record_written(store, "job-00001", [fact], author.clock()).added == ("phone-0001",)
    assert record_written(store, "job-00001", [fact], author.clock()).known == ("phone-0001",)
    entry = job_view(store, library, "job-00001").entries[0]
    assert (entry.at, entry.device, entry.computed_from) == (START, "phone", "a" * 64)


@pytest.mark.parametrize(
    "written",
    [
        Written("short", "phone", 1, START),
        Written("phone-0001", "", 1, START),
        Written("phone-0001", "phone", 0, START),
        Written("phone-0001", "phone", 2**60, START),
        Written("phone-0001", "phone", 1, datetime(2026, 3, 1)),  # noqa: DTZ001
        Written("phone-0001", "phone", 1, START, {"x": -1}),
        Written("phone-0001", "phone", 1, START, {"\ud800": 1}),
        Written("phone-0001", "phone", 1, START, {str(n): 1 for n in range(101)}),
        Written("phone-0001", "phone", 1, START, {}, "not a hash"),
    ],
)
def test_authorship_is_checked(store: Store, author: Author, written: Written) -> None:
    """Tests that a phone cannot send what the store could not hold or order."""
    with pytest.raises(FactError):
        record_written(store, "job-00001", [(written, DangerTold())], author.clock())


def test_all_or_none(store: Store, author: Author, library: Library) -> None:
    """Tests that one bad fact among several leaves none behind."""
    good = Written("phone-0001", "phone", 1, START)
    bad = Written("phone-0002", "phone", 1, START)
    both = [(good, DangerTold()), (bad, DangerTold())]
    with pytest.raises(FactClashError):
        record_written(store, "job-00001", both, author.clock())
    with pytest.raises(NotThereError):
        job_view(store, library, "job-00001")


@pytest.mark.parametrize("name", ["", "x", "a\x00bcdefgh", "\ud800" * 9, "x" * 65, "../../../etc"])
def test_what_is_no_reference(store: Store, author: Author, library: Library, name: str) -> None:
    """Tests that no odd address of a page gets as far as the database."""
    job = new_job(store, author, CALL)
    for ask in (
        lambda: job_view(store, library, name),
        lambda: record(store, name, author, DangerTold()),
        lambda: take_back(store, job, author, name),
        lambda: job_lines(store, library, after=name),
        lambda: read_person(store, name),
        lambda: read_photo(store, job, name),
        lambda: read_photo(store, name, "photo-00001"),
        lambda: erase_words(store, job, name, START),
    ):
        with pytest.raises(NotThereError):
            ask()


def test_what_is_not_there(store: Store, author: Author, library: Library) -> None:
    """Tests that unknown jobs and facts get a plain answer."""
    job, other = new_job(store, author, CALL), new_job(store, author, CALL)
    fact = job_view(store, library, other).entries[0].id
    with pytest.raises(NotThereError, match="no job"):
        record(store, "nowhere-1", author, DangerTold())
    with pytest.raises(NotThereError, match="no fact"):
        take_back(store, job, author, fact)
    with pytest.raises(FactError, match="first fact"):
        new_job(store, author, [])


def test_consent_is_in_cents(store: Store, author: Author, library: Library) -> None:
    """Tests that what was agreed comes back to the cent."""
    job = new_job(store, author, CALL)
    record(store, job, author, Consent(amount_cents=8995, agreed=True))
    assert job_view(store, library, job).consent == Consent(amount_cents=8995, agreed=True)
