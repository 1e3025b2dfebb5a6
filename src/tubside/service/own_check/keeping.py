"""What a customer's own check writes: facts of its own device, bounded, on one job alone."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from itertools import count

import msgspec

from tubside.errors import FactClashError, OwnCheckError
from tubside.service import jobs, people
from tubside.service.attachments import add_words
from tubside.service.authors import Author
from tubside.service.library import Library
from tubside.service.own_check.standing import DEVICE, MOST_FACTS, mine
from tubside.service.records import Body, DangerTold, Machine, PersonNamed, WordsKept
from tubside.service.viewing import view_of
from tubside.service.visit_records import Waiting
from tubside.store import facts as kept
from tubside.store.opening import Store
from tubside.store.settings import keep_setting, setting

CALLS_AN_HOUR = 6
"""Jobs that the front door opens in one hour, whoever knocks (common practice, no source)."""
KNOCKS = "own-check-calls"
LONGEST_NAME, LONGEST_PHONE, LONGEST_TIMES = 80, 40, 300
FULL = "that is all this page takes; ring the shop and tell the rest"


@dataclass(frozen=True, slots=True)
class Keeper:
    """Store, knowledge and clock of who keeps what a customer's page sends."""

    store: Store
    library: Library
    clock: Callable[[], datetime]

    def author(self, job: str, once: str) -> Author:
        """The customer as author: the same form twice gives the same ids, on this job alone.

        The ids are hashed with the job: a form from outside can name no fact that is there.
        """
        name = sha256(f"{DEVICE}\0{job}\0{once}".encode()).hexdigest()[:40]
        ids: Iterator[str] = (f"{name}-{n}" for n in count())
        return Author(DEVICE, self.clock, lambda: next(ids))


def keep_facts(keeper: Keeper, job: str, bodies: Sequence[Body], once: str) -> None:
    """Append a customer's facts to a job, each checked, and what is then advised.

    Raises
    ------
    OwnCheckError
        When the job has as many of them as it takes.
    JobFileError, FactError
        When one names what the machine's pack does not know.
    """
    view = view_of(keeper.store, keeper.library, job, advised=False)
    with keeper.store.reading() as opened:
        before = [row for row in kept.of_job(opened, job) if row.device == DEVICE]
    if len(before) + len(bodies) > MOST_FACTS:
        raise OwnCheckError(FULL)
    for body in bodies:
        jobs.check_body(keeper.library, view, body)
    author = keeper.author(job, once)
    try:
        for body in bodies:
            jobs.record(keeper.store, job, author, body, view.computed_from, view.seen)
    except FactClashError:
        msg = "this was answered already; go back to the page of your link"
        raise OwnCheckError(msg) from None
    advised = keeper.author(job, f"{once}-advice")
    jobs.record_advice(keeper.store, keeper.library, job, advised)


@dataclass(frozen=True, slots=True)
class Caller:
    """Who came by the front door, and what machine it is ("model:..." or "family:...")."""

    name: str
    phone: str
    machine: str = ""


def open_at_door(keeper: Keeper, caller: Caller, danger: DangerTold, once: str) -> str:
    """Open a job from the front door; its id.

    The name and the number are kept beside the facts, where the shop can erase them, and
    belong to no customer until somebody of the shop says so.

    Raises
    ------
    OwnCheckError
        When a number to ring is missing, something is too long, or the shop has taken
        as many such calls as it takes in an hour.
    """
    name, phone = caller.name.strip()[: LONGEST_NAME + 1], caller.phone.strip()
    if len(name) > LONGEST_NAME or len(phone) > LONGEST_PHONE:
        msg = "that is too long; a name and a telephone number are enough"
        raise OwnCheckError(msg)
    if sum(sign.isdigit() for sign in phone) < 5:
        msg = "write a telephone number that the shop can ring"
        raise OwnCheckError(msg)
    machine = machine_of(keeper.library, caller.machine)
    author = keeper.author("", once)
    made_already = _job_of(keeper, author)
    if made_already is not None:
        return made_already
    count_call(keeper)
    first: list[Body] = [danger, *([machine] if machine else [])]
    job = jobs.new_job(keeper.store, keeper.author("", once), first)
    ref = keeper.author(job, f"{once}-who").fresh_id()
    data = people.PersonData(name=name, phone=phone)
    people.add_person(keeper.store, ref, data, keeper.clock())
    keep_facts(keeper, job, [PersonNamed(ref=ref)], f"{once}-person")
    return job


def _job_of(keeper: Keeper, author: Author) -> str | None:
    """The job that the same form opened before."""
    name = author.fresh_id()
    with keeper.store.reading() as opened:
        return name if kept.of_job(opened, name) else None


def machine_of(library: Library, chosen: str) -> Machine | None:
    """The machine that was picked; None for "not sure".

    Raises
    ------
    OwnCheckError
        When the shop knows no such machine.
    """
    kind, _, name = chosen.partition(":")
    if kind == "model" and name in library.models():
        return Machine(model=name, family=library.model(name).pack.family)
    if kind == "family" and name in library.families():
        return Machine(family=library.family(name).pack.family)
    if not chosen:
        return None
    msg = "pick a machine from the list"
    raise OwnCheckError(msg)


def count_call(keeper: Keeper) -> None:
    """Count a call at the front door; OwnCheckError when this hour has had enough."""
    now = keeper.clock()
    with keeper.store.writing() as opened:
        there = msgspec.json.decode(setting(opened, KNOCKS) or "[]", type=list[datetime])
        late = [at for at in there if timedelta(0) <= now - at < timedelta(hours=1)]
        if len(late) >= CALLS_AN_HOUR:
            msg = "the shop takes no more calls on this page within the hour; please ring"
            raise OwnCheckError(msg)
        keep_setting(opened, KNOCKS, msgspec.json.encode([*late, now]).decode())


def ask_visit(keeper: Keeper, job: str, times: str, once: str) -> None:
    """Keep that a visit is asked for; the times preferred lie beside the facts, erasable.

    Raises
    ------
    OwnCheckError
        When the times are too long, or a visit was asked for before.
    """
    view = view_of(keeper.store, keeper.library, job, advised=False)
    if any(isinstance(body, Waiting) for body in mine(view)):
        msg = "the shop has your wish for a visit already; ring to change it"
        raise OwnCheckError(msg)
    times = " ".join(times.split())
    if len(times) > LONGEST_TIMES:
        msg = f"write at most {LONGEST_TIMES} letters about the times"
        raise OwnCheckError(msg)
    bodies: list[Body] = [Waiting(what="visit")]
    if times:
        ref = keeper.author(job, f"{once}-times").fresh_id()
        add_words(keeper.store, job, ref, times, keeper.clock())
        bodies.append(WordsKept(ref=ref))
    keep_facts(keeper, job, bodies, once)
