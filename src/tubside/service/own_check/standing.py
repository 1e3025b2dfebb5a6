"""Where a customer's own check stands: what its page asks next, computed from the facts alone."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Literal

import msgspec

from tubside.errors import LinkError
from tubside.service.own_check.choosing import Ask, Next, next_for_customer
from tubside.service.records import (
    Body,
    CheckDone,
    DangerTold,
    Indication,
    RemedyDone,
    Reported,
)
from tubside.service.viewing import told_key
from tubside.service.views import JobView
from tubside.service.visit_records import Waiting
from tubside.store import beside
from tubside.store.opening import Store

DEVICE = "own-check"
"""Who wrote the facts of a customer's own check: told from the shop's own by this."""
MOST_STEPS = 10
"""Steps before a visit is offered: more try anybody's patience (common practice, no source)."""
MOST_FACTS = 80
"""Facts that one job takes from its customer's links, whatever is sent."""
LAST_FACTS = 10
"""Of them kept free for the wish for a visit, and for a danger."""

At = Literal["danger", "machine", "trouble", "step", "stop", "cleared", "visit", "asked"]


@dataclass(frozen=True, slots=True)
class Standing:
    """What the page asks or says; ``ask`` is the step of "step", ``done`` how many were done."""

    at: At
    ask: Ask | None = None
    done: int = 0


def mine(view: JobView) -> list[Body]:
    """The facts of the customer's own check that count, in order."""
    return [
        entry.body
        for entry in view.entries
        if entry.device == DEVICE and entry.retracted_by is None and not entry.doubtful
    ]


def check_open(view: JobView) -> None:
    """Refuse a link whose job has gone on without it.

    Raises
    ------
    LinkError
        When the job is closed, or somebody is at the machine.
    """
    if view.closing is not None:
        msg = "this job is closed, and its link with it; ring the shop if there is trouble again"
        raise LinkError(msg)
    if view.stage == "on site":
        msg = "the technician is with the machine now; tell them instead"
        raise LinkError(msg)


def standing(store: Store, view: JobView, now: datetime) -> Standing:
    """Where the check stands: danger first, then the machine, the trouble, and step by step."""
    told = mine(view)
    steps = sum(isinstance(body, CheckDone | RemedyDone) for body in told)
    at: At | None = None
    if view.dangers:
        at = "stop"
    elif not any(isinstance(body, DangerTold) for body in told):
        at = "danger"
    elif any(isinstance(body, Waiting) for body in told):
        at = "asked"
    elif view.known is None or view.source is None:
        at = "machine"
    elif not any(isinstance(body, Reported | Indication) for body in told) and not _told(view):
        at = "trouble"
    if at is not None:
        return Standing(at, done=steps)
    return _by_steps(_next(store, view, now), steps, len(told))


def _by_steps(found: Next, steps: int, facts: int) -> Standing:
    """The next step, or the end that there is none after."""
    if found.ask is not None and steps < MOST_STEPS and facts < MOST_FACTS - LAST_FACTS:
        return Standing("step", found.ask, steps)
    ends: dict[str, At] = {"stop": "stop", "cleared": "cleared"}
    return Standing(ends.get(found.end, "visit"), done=steps)


def _next(store: Store, view: JobView, now: datetime) -> Next:
    """What comes next, reckoned once for the same facts: a page asked for often costs nothing."""
    assert view.source is not None
    assert view.known is not None
    key = sha256(f"own-check {told_key(view.source.job, str(view.computed_from))}".encode())
    with store.reading() as opened:
        text = beside.told(opened, key.hexdigest())
    if text is not None:
        return msgspec.json.decode(text, type=Next)
    found = next_for_customer(view.source, view.known)
    with store.writing() as opened:
        beside.keep_told(opened, key.hexdigest(), msgspec.json.encode(found).decode(), now)
    return found


def _told(view: JobView) -> bool:
    """Whether the shop wrote the trouble down already."""
    job = view.source.job if view.source is not None else None
    return job is not None and bool(job.reported or job.indication or job.clip)
