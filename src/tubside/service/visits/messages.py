"""Texts to a customer about a visit, as links into the phone's own programs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from tubside.documents.message import Meeting, Message, booked, delayed, on_the_way
from tubside.errors import DocumentError
from tubside.service.visit_records import MailAbout
from tubside.service.visits.booked import Booked
from tubside.service.visits.mail_told import ABOUT
from tubside.service.visits.settings import CallerSetting

Words = Callable[[datetime], str]


@dataclass(frozen=True, slots=True)
class Links:
    """What opens the phone's program, by what it tells; empty where nothing can be sent."""

    sms: tuple[tuple[str, str], ...] = ()
    mail: tuple[tuple[str, str], ...] = ()
    ring: str = ""
    texts: tuple[tuple[MailAbout, str, str], ...] = ()
    """What each is about, in a code and in words, and what it says."""


def links_of(
    one: Booked, begins: tuple[str, str], caller: CallerSetting, clock: Words, day: Words
) -> Links:
    """Return the links for one visit, likely to begin between ``begins``."""
    texts = texts_of(one, begins, caller, clock, day)
    if not texts:
        return Links()
    said = {ABOUT[about]: message for about, message in texts.items()}
    return Links(
        sms=_made(said, lambda text: text.sms(one.phone)),
        mail=_made(said, lambda text: text.mailto(one.email)),
        ring="".join(c for c in one.phone if c.isdigit() or c == "+"),
        texts=tuple((about, ABOUT[about], text.body) for about, text in texts.items()),
    )


def texts_of(
    one: Booked, begins: tuple[str, str], caller: CallerSetting, clock: Words, day: Words
) -> dict[MailAbout, Message]:
    """Return what may be told of one visit; nothing where no window is promised."""
    visit = one.visit
    if visit.arrive_from is None or visit.arrive_until is None:
        return {}
    meeting = Meeting(
        shop=caller.shop,
        telephone=caller.telephone or "us",
        machine="machine",
        day=day(visit.arrive_from),
        opens=clock(visit.arrive_from),
        closes=clock(visit.arrive_until),
    )
    return {
        "booked": booked(meeting),
        "between": on_the_way(meeting, *begins),
        "late": delayed(meeting, begins[1]),
    }


def _made(texts: dict[str, Message], link: Callable[[Message], str]) -> tuple[tuple[str, str], ...]:
    try:
        return tuple((words, link(text)) for words, text in texts.items())
    except DocumentError:
        return ()  # nobody's number or address is known, or it is none
