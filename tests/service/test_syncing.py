"""Tests of two phones without signal: whatever goes wrong, the server ends with the union."""

from __future__ import annotations

import itertools
import random
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import msgspec
import pytest

from pictures_made import picture
from tubside.service import jobs
from tubside.service.attachments import read_photo
from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.library import Library
from tubside.service.panel_photo import shrunk
from tubside.service.phone_messages import Message
from tubside.service.records import (
    Body,
    CheckDone,
    DangerTold,
    Machine,
    Payer,
    RemedyDone,
    Reported,
    Retract,
    WordsKept,
)
from tubside.service.sent import Batch, read_batch
from tubside.service.syncing import Synced, Taken, answer, take
from tubside.store import facts as kept
from tubside.store.opening import Store

NOON = datetime(2026, 3, 4, 12, 0, tzinfo=UTC)
BODIES: tuple[Body, ...] = (
    DangerTold(),
    DangerTold(kinds=["smoke"]),
    Machine(family="top_load"),
    Machine(model="aldermoor-tern", family="top_load"),
    Reported(conditions=["wont_drain"]),
    CheckDone(check="foam", outcome="none", by="customer"),
    CheckDone(check="no-such-check", outcome="strange", by="technician"),
    RemedyDone(remedy="clean_pump_trap", outcome="still-fails", by="technician"),
    Payer(who="landlord"),
    Payer(who="customer"),
)


_ADDRESSES = itertools.count()


def sync(store: Store, batch: Batch, now: datetime) -> Synced:
    """What becomes of one message; each from an address of its own, so that none waits."""
    (taken,) = take(store, [Message(batch, None, f"address-{next(_ADDRESSES)}", now)])
    assert isinstance(taken, Taken)
    return answer(store, batch, taken, now)


@dataclass
class Phone:
    """A phone's outbox, as the page keeps it: numbered when told, let go when answered."""

    device: str
    waiting: list[dict[str, object]] = field(default_factory=list)
    told: dict[str, str] = field(default_factory=dict)
    known: dict[str, dict[str, int]] = field(default_factory=dict)
    refused: list[str] = field(default_factory=list)
    last: int = 0

    def tell(self, job: str, body: Body, at: datetime, name: str = "") -> str:
        """Write a fact down."""
        self.last += 1
        fact_id = name or f"{self.device}-{self.last:04}"
        fact: dict[str, object] = {
            "id": fact_id,
            "job": job,
            "sequence": self.last,
            "at": at,
            "seen": dict(self.known.get(job, {})),
            "body": body,
        }
        self.waiting.append(fact)
        self.told[fact_id] = job
        return fact_id

    def batch(self, some: list[dict[str, object]], **more: object) -> Batch:
        """What it sends."""
        told = {"device": self.device, "facts": some, "known": self.known, **more}
        return read_batch(msgspec.json.encode(told))

    def answered(self, some: list[dict[str, object]], heard: Synced) -> None:
        """Let go of what the server has, and learn what it had seen."""
        for fact, result in zip(some, heard.results, strict=True):
            assert result.id == fact["id"]
            if result.result == "refused":
                self.refused.append(result.id)
            self.waiting.remove(fact)
        for job, news in heard.jobs.items():
            self.known[job] = dict(news.seen)


def ids_of(store: Store, job: str) -> set[str]:
    """The ids of a job's facts on the server, advice left out."""
    with store.reading() as opened:
        return {row.id for row in kept.of_job(opened, job) if row.kind != "advice"}


@dataclass
class Case:
    """One story of two phones, told by a seed."""

    store: Store
    reopened: Callable[[], Store]
    chance: random.Random
    jobs: list[str]
    phones: tuple[Phone, Phone]
    moments: itertools.count[int] = field(default_factory=itertools.count)

    def now(self, phone: Phone) -> datetime:
        """A moment by that phone's clock, one of which is wrong."""
        wrong = timedelta(hours=5) if phone is self.phones[1] else timedelta()
        return NOON + timedelta(seconds=next(self.moments)) + wrong

    def tell(self, phone: Phone) -> None:
        """Tell something, or take something back that this phone told."""
        job = self.chance.choice(self.jobs)
        mine = [name for name, where in phone.told.items() if where == job]
        if mine and self.chance.random() < 0.2:
            phone.tell(job, Retract(fact=self.chance.choice(mine)), self.now(phone))
        else:
            phone.tell(job, self.chance.choice(BODIES), self.now(phone))

    def send(self, phone: Phone) -> None:
        """Send some of what waits: the answer may be lost, the message may come twice."""
        count = self.chance.randint(1, max(1, len(phone.waiting)))
        some = phone.waiting[:count]
        if self.chance.random() < 0.1:
            return  # the message is lost on its way
        heard = sync(self.store, phone.batch(some), self.now(phone))
        if self.chance.random() < 0.2:
            heard = sync(self.store, phone.batch(some), self.now(phone))
        if self.chance.random() < 0.3:
            return  # the answer is lost on its way
        phone.answered(some, heard)

    def play(self, turns: int) -> None:
        """Tell and send in any order; the server may be started anew in between."""
        for _ in range(turns):
            phone = self.chance.choice(self.phones)
            what = self.chance.random()
            if what < 0.6:
                self.tell(phone)
            elif what < 0.97:
                self.send(phone)
            else:
                self.store.close()
                self.store = self.reopened()
        for phone in self.phones:
            while phone.waiting:
                self.send(phone)

    def check(self) -> None:
        """The server has exactly the union, and every job can be looked at."""
        told = {**self.phones[0].told, **self.phones[1].told}
        for job in self.jobs:
            wanted = {name for name, where in told.items() if where == job}
            if wanted:
                assert ids_of(self.store, job) == wanted
        assert not self.phones[0].refused + self.phones[1].refused


def play_cases(folder: Path, seeds: range) -> None:
    """Play a story for each seed."""
    store = open_data(folder, lambda: NOON)
    for seed in seeds:
        names = [f"job-{seed:05}-{n}" for n in range(2)]
        phones = (Phone(f"phone-anna{seed:05}"), Phone(f"phone-bert{seed:05}"))
        chance = random.Random(seed)  # noqa: S311  # stories, no secrets
        case = Case(store, lambda: open_data(folder, lambda: NOON), chance, names, phones)
        case.play(14)
        case.check()
        store = case.store
    store.close()


def test_a_hundred_stories_of_two_phones(tmp_path: Path) -> None:
    """Tests that lost and doubled messages, restarts and any order end in the union."""
    play_cases(tmp_path, range(100))


@pytest.mark.soak
def test_a_thousand_stories_of_two_phones(tmp_path: Path) -> None:
    """Tests the same a thousand times."""
    play_cases(tmp_path, range(1000, 2000))


def test_both_orders_give_the_same_job(store: Store) -> None:
    """Tests that a job looks the same whichever phone found signal first."""
    lines = []
    for number, order in enumerate(((0, 1), (1, 0))):
        job = f"same-job-{number}"
        phones = (Phone(f"phone-first-one-{number}"), Phone(f"phone-second-one-{number}"))
        phones[0].tell(job, Machine(family="top_load"), NOON, f"fact-{number}-machine")
        back = phones[0].tell(job, Payer(who="insurer"), NOON, f"fact-{number}-payer")
        phones[0].tell(job, Retract(fact=back), NOON, f"fact-{number}-retract")
        remedy = RemedyDone(remedy="clean_pump_trap", outcome="works", by="technician")
        phones[0].tell(job, remedy, NOON, f"fact-{number}-remedy")
        check = CheckDone(check="foam", outcome="none", by="customer")
        phones[1].tell(job, check, NOON, f"fact-{number}-check")
        for place in order:
            sync(store, phones[place].batch(phones[place].waiting), NOON)
        view = jobs.job_view(store, Library(), job)
        lines.append(
            [(e.body.__struct_config__.tag, bool(e.retracted_by), e.doubtful) for e in view.entries]
        )
    assert lines[0] == lines[1]
    assert ("check", False, True) in lines[0]


def test_a_form_whose_answer_was_lost_counts_once(store: Store, author: Author) -> None:
    """Tests that the phone may send under the form's own ids what the server has already."""
    job = jobs.new_job(store, author, [DangerTold()])
    posted = Author("server", author.clock, lambda: "form-0000-0")
    jobs.record(store, job, posted, Payer(who="landlord"))
    phone = Phone("phone-lost-answer")
    phone.tell(job, Payer(who="landlord"), NOON, "form-0000-0")
    heard = sync(store, phone.batch(phone.waiting), NOON)
    assert [result.result for result in heard.results] == ["there"]
    assert len([name for name in ids_of(store, job) if name == "form-0000-0"]) == 1


def test_what_is_wrong_is_refused_by_itself(store: Store) -> None:
    """Tests that each refusal says what, where and how to mend, and spoils no other fact."""
    phone = Phone("phone-refusals")
    job = "job-refused"
    phone.tell(job, DangerTold(), NOON)
    phone.tell(job, Payer(who="landlord"), NOON)
    good = list(phone.waiting)
    other = Phone("phone-refusals")  # another one that says the same name
    other.tell(job, Payer(who="insurer"), NOON, "clashing-number")
    sync(store, phone.batch(good), NOON)
    wrong: list[object] = [
        {**good[0], "id": "new-body-1", "sequence": 11, "body": {"kind": "payer", "who": "nobody"}},
        {**good[0], "id": "short", "sequence": 12},
        {**good[0], "sequence": 1, "body": {"kind": "came-back"}},
        other.waiting[0],
        "no fact at all",
        {**good[0], "id": "good-again", "sequence": 13},
    ]
    heard = sync(store, phone.batch(wrong), NOON)  # type: ignore[arg-type]  # wrong on purpose
    assert [r.result for r in heard.results] == ["refused"] * 5 + ["kept"]
    for result in heard.results[:5]:
        assert result.why is not None
        assert result.why.what
        assert "message" in result.why.where
        assert result.why.mend
    assert "good-again" in ids_of(store, job)


def test_an_answer_tells_what_others_added(store: Store) -> None:
    """Tests that a phone hears of facts of others beyond what it had seen, and once."""
    anna, bert = Phone("phone-anna-news"), Phone("phone-bert-news")
    anna.tell("job-of-news", DangerTold(kinds=["smoke"]), NOON)
    anna.answered(list(anna.waiting), sync(store, anna.batch(anna.waiting), NOON))
    bert.tell("job-of-news", Payer(who="customer"), NOON)
    news = sync(store, bert.batch(bert.waiting), NOON)
    others = news.jobs["job-of-news"].others
    assert [(fact.device, bytes(fact.body)) for fact in others] == [
        ("phone-anna-news", b'{"kind":"danger","kinds":["smoke"]}')
    ]
    bert.answered(list(bert.waiting), news)
    assert sync(store, bert.batch([]), NOON).jobs["job-of-news"].others == ()


def test_words_photos_and_people_travel_too(store: Store) -> None:
    """Tests that what lies beside the facts arrives once, after its job, or is refused."""
    phone = Phone("phone-beside-1")
    phone.tell("job-with-words", DangerTold(), NOON)
    phone.tell("job-with-words", WordsKept(ref="words-0001", about="trouble"), NOON)
    photo = picture("JPEG")
    beside = [
        {"what": "words", "ref": "words-0001", "job": "job-with-words", "text": "it hums"},
        {"what": "photo", "ref": "photo-0001", "job": "job-with-words", "content": photo},
        {"what": "person", "ref": "person-001", "job": "job-with-words", "data": {"name": "Jo"}},
        {"what": "photo", "ref": "photo-0002", "job": "job-with-words", "content": b"no picture"},
        {"what": "words", "ref": "words-0002", "job": "no-such-job", "text": "lost"},
    ]
    for _ in range(2):
        heard = sync(store, phone.batch(phone.waiting, beside=beside), NOON)
        assert [r.result for r in heard.beside] == ["kept"] * 3 + ["refused"] * 2
    assert jobs.job_view(store, Library(), "job-with-words").words == {"words-0001": "it hums"}
    assert read_photo(store, "job-with-words", "photo-0001").content == shrunk(photo)
