"""The day: who goes where, how likely each promise is kept, and what a change costs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from tubside.day.map_drawing import NARROW, WIDE, Dot, Line, map_svg
from tubside.day.problem import KILOMETRE, MINUTE
from tubside.day.timetable import Round, Visit
from tubside.documents.calendar import CONTENT_TYPE
from tubside.errors import DayError, NotThereError
from tubside.service import jobs, records
from tubside.service.logins import User
from tubside.service.roles import check_office, goes_there, is_office, may_see_day
from tubside.service.visits.booked import Booked
from tubside.service.visits.feed import feed_of
from tubside.service.visits.mail_setting import mail_setting
from tubside.service.visits.mail_told import mail_words
from tubside.service.visits.messages import Links, links_of
from tubside.service.visits.settings import CallerSetting, caller_setting
from tubside.service.visits.shop_day import (
    Shop,
    ShopDay,
    best_again,
    keep_order,
    moved,
    put,
    shop_day,
    squeezed,
)
from tubside.web.pages.clock_words import hhmm, hhmm_day
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.visit import window_of
from tubside.web.security.login_page import session_in

RINGS_AHEAD = 0.10
"""Chance to be late from which the page says to ring ahead; the same as at risk."""


@dataclass(frozen=True, slots=True)
class Call:
    """One visit as the page shows it."""

    booked: Booked
    visit: Visit
    begins: tuple[str, str]
    promised: str
    links: Links
    on_paper: str
    """The telephone number that is printed: only for whoever is logged in and goes."""


@dataclass(frozen=True, slots=True)
class Van:
    """One technician's round as the page shows it."""

    round: Round
    calls: tuple[Call, ...]
    back: str
    driving: int
    km: float


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """The day, and what the call asked about would do to it."""
    on, shop = _date(request), Shop(desk.store, desk.library)
    asked, found = request.query_params, None
    session = session_in(request)
    user = session.user if session is not None else None
    try:
        day = shop_day(shop, on, desk.clock())
        if asked.get("job"):
            check_office(user, "ask what one more call costs")
            body = _visit_asked(asked.get("from", ""), asked.get("until", ""), on)
            urgent = asked.get("urgent") == "yes"
            _, found = squeezed(shop, asked["job"], body, desk.clock(), urgent=urgent)
    except DayError as wrong:
        return _unplanned(desk, request, on, str(wrong))
    with desk.store.reading() as opened:
        caller, mails = caller_setting(opened), mail_setting(opened) is not None
    seen = [one for one in day.plan.rounds if may_see_day(user, one.technician)]
    vans = [_van(day, caller, one, goes=goes_there(user, one.technician)) for one in seen]
    values = {
        "day": day,
        "notes": _notes(day, user),
        "vans": vans,
        "names": [one.technician for one in day.plan.rounds],
        "squeeze": found,
        "asked": dict(asked),
        "labels": {one.job: one for one in day.visits},
        "office": is_office(user),
        "waiting": _waiting(desk),
        "maps": _maps(day, vans),
        "ring_ahead": RINGS_AHEAD,
        "mails": mails,
        "mail_words": mail_words,
        **_around(on),
    }
    return desk.render(request, "day.html", values, 200)


def today(desk: Desk, _request: Request, _form: Form) -> Response:
    """Today's page."""
    return go(f"/day/{desk.clock().astimezone().date().isoformat()}")


def change(desk: Desk, request: Request, form: Form) -> Response:
    """Move a visit by hand, go back to the plan's order, or book the call that was asked about."""
    on, shop = _date(request), Shop(desk.store, desk.library)
    session = session_in(request)
    what, job = form.one("do"), form.one("job")
    if what == "best":
        check_office(session.user if session else None, "put the day in another order")
        best_again(shop, on)
    elif what == "book":
        check_office(session.user if session else None, "squeeze a visit into the day")
        _book(desk, shop, form, on)
    elif what in {"earlier", "later", "give", "put"}:
        day = shop_day(shop, on, desk.clock())
        owner = next((name for name, order in day.plan.orders.items() if job in order), "")
        to = form.one("to", owner)
        if not may_see_day(session.user if session else None, owner) or to != owner:
            check_office(session.user if session else None, "change somebody else's day")
        by = {"earlier": -1, "later": 1}.get(what, 0)
        orders = day.plan.orders
        fresh = moved(orders, job, by, to if what == "give" else None)
        if what == "put":
            fresh = put(orders, job, to, form.one("before"))
        keep_order(shop, day, fresh)
    else:
        msg = "tap earlier, later, or to whom the visit goes"
        raise DayError(msg)
    return go(f"/day/{on.isoformat()}")


def calendar(desk: Desk, request: Request, _form: Form) -> Response:
    """A technician's visits for the phone's calendar, to whoever has the secret link."""
    try:
        text = feed_of(Shop(desk.store, desk.library), request.path_params["secret"], desk.clock())
    except NotThereError as wrong:
        return PlainTextResponse(f"{wrong}\n", 404)
    return Response(text, headers={"content-type": CONTENT_TYPE, "cache-control": "no-store"})


def _book(desk: Desk, shop: Shop, form: Form, on: date) -> None:
    job, urgent = form.one("job"), form.one("urgent") == "yes"
    body = _visit_asked(form.one("from"), form.one("until"), on)
    day, found = squeezed(shop, job, body, desk.clock(), urgent=urgent)
    stop = day.left.stops[day.left.stop_at(job)]
    window = (body.arrive_from, body.arrive_until)
    if urgent and stop.promised is not None:
        window = (day.at(stop.promised.opens), day.at(stop.promised.closes))
    visit = records.Visit(
        status="booked",
        arrive_from=window[0],
        arrive_until=window[1],
        technician=found.technician,
    )
    desk.keep(job, [visit], form.one("once"))
    if urgent:
        after = shop_day(shop, on, desk.clock())
        keep_order(shop, after, found.change.after.orders)


def _notes(day: ShopDay, user: User | None) -> list[str]:
    """What the day assumes; a technician reads of the own customers alone."""
    own = None if user is None or is_office(user) else user.name
    return [note for note in (*day.notes, day.unknown_note(own)) if note]


def _visit_asked(begins: str, ends: str, on: date) -> records.Visit:
    start, end = window_of(on.isoformat() if begins or ends else "", begins, ends)
    if start is None:
        start, end = window_of(on.isoformat(), "08:00", "17:00")
    return records.Visit(status="booked", arrive_from=start, arrive_until=end)


def _waiting(desk: Desk) -> list[jobs.JobLine]:
    lines = jobs.job_lines(desk.store, desk.library, 200)
    return [line for line in lines if line.stage in {"call", "waiting"}]


def _date(request: Request) -> date:
    text = request.path_params["date"]
    try:
        return date.fromisoformat(text)
    except ValueError:
        msg = f"'{text[:20]}' is no day; write it like 2026-03-04"
        raise DayError(msg) from None


def _around(on: date) -> dict[str, object]:
    one = timedelta(days=1)
    return {"on": on, "before": (on - one).isoformat(), "after": (on + one).isoformat()}


def _unplanned(desk: Desk, request: Request, on: date, wrong: str) -> Response:
    values = {"day": None, "wrong": wrong, **_around(on)}
    return desk.render(request, "day.html", values, 200)


def _van(day: ShopDay, caller: CallerSetting, one: Round, *, goes: bool) -> Van:
    booked = {visit.job: visit for visit in day.visits}
    calls = tuple(_call(day, caller, booked[visit.stop], visit, goes=goes) for visit in one.visits)
    back, driving = hhmm(day.at(one.finish.mean)), round(one.driving / MINUTE)
    return Van(one, calls, back, driving, one.metres / KILOMETRE)


def _call(day: ShopDay, caller: CallerSetting, booked: Booked, visit: Visit, *, goes: bool) -> Call:
    begins = (hhmm(day.at(visit.begins.low)), hhmm(day.at(visit.begins.high)))
    told, words = booked.visit, "no window promised"
    if told.arrive_from is not None and told.arrive_until is not None:
        words = f"{hhmm(told.arrive_from)} to {hhmm(told.arrive_until)}"
    links = links_of(booked, begins, caller, hhmm, hhmm_day)
    return Call(booked, visit, begins, words, links, booked.phone if goes else "")


def _maps(day: ShopDay, vans: list[Van]) -> list[tuple[str, Markup]]:
    ends = {one.id: one for one in day.left.technicians}
    lines = [
        Line(
            van.round.technician,
            ends[van.round.technician].start,
            ends[van.round.technician].end,
            tuple(
                Dot(call.booked.place, call.booked.label) for call in van.calls if call.booked.place
            ),
        )
        for van in vans
    ]
    if not any(line.dots for line in lines):
        return []
    sheets = (("narrow", NARROW), ("wide", WIDE))
    return [
        (name, Markup(map_svg(lines, sheet, alone=False)))  # noqa: S704  # it escapes names
        for name, sheet in sheets
    ]
