"""A job's trip: booked with all it needs, failed or given up; what the job waits for."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from typing import get_args

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import FactError
from tubside.service import records
from tubside.service.attachments import add_words
from tubside.service.kept_plans import kept_plan
from tubside.service.views import JobView
from tubside.service.visit_records import MachineMoved, OnSite, Trouble, WaitFor, Waiting
from tubside.service.visits.booked import USUAL
from tubside.service.visits.settings import technician_settings
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.people import ref_of
from tubside.web.pages.visit import (
    TROUBLE,
    WAIT_WORDS,
    moved_words,
    visit_words,
    wait_words,
    window_of,
)

PLAIN: dict[str, records.Body] = {
    "cancel": records.Visit(status="cancelled"),
    "done": records.Visit(status="done"),
    "wait-no-more": Waiting(),
    "workshop": MachineMoved(to="workshop"),
    "home": MachineMoved(to="home"),
}
"""Buttons that say all by themselves."""
LONGEST = 1440.0


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """What is booked, what it waits for, and what may be said of both."""
    view = desk.view(request.path_params["job"])
    with desk.store.reading() as opened:
        names = list(technician_settings(opened))
    values = {
        "view": view,
        "names": names,
        "took": _expected(desk, view),
        "visit_words": visit_words(view.visit),
        "wait_words": "" if view.waiting is None else wait_words(view.waiting),
        "moved_words": "" if view.machine_at is None else moved_words(view.machine_at),
        "waits": WAIT_WORDS,
        "troubles": TROUBLE,
    }
    return desk.render(request, "trip.html", values, 200)


def keep(desk: Desk, request: Request, form: Form) -> Response:
    """Keep one of these facts."""
    job = request.path_params["job"]
    body = _told(desk, job, form)
    desk.keep(job, [body], form.one("once"))
    return go(f"/jobs/{job}/trip")


def _told(desk: Desk, job: str, form: Form) -> records.Body:
    what = form.one("do")
    if what == "book":
        return _booked(desk, job, form)
    if what in PLAIN:
        return PLAIN[what]
    if what in {"failed", "given-up"}:
        return records.Visit(status=what, reason=_reason(form))  # type: ignore[arg-type]  # checked
    if what == "wait":
        return Waiting(what=_wait(form), until=_until(form.one("until")))
    msg = "tap what is to be kept"
    raise FactError(msg)


def _booked(desk: Desk, job: str, form: Form) -> records.Visit:
    view = desk.view(job)
    if view.consent is None or not view.consent.agreed:
        msg = "ask first whether the customer agrees to the call-out fee, on the job's page"
        raise FactError(msg)
    start, end = window_of(form.one("day"), form.one("from"), form.one("until"))
    if start is None:
        msg = "a booked visit needs a day and two times"
        raise FactError(msg)
    words = None
    if form.one("access"):
        words = ref_of(form)
        add_words(desk.store, job, words, form.one("access"), desk.clock())
    return records.Visit(
        status="booked",
        arrive_from=start,
        arrive_until=end,
        technician=form.one("technician") or None,
        on_site=_on_site(form),
        skills=[skill.strip().lower() for skill in form.one("skills").split(",") if skill.strip()],
        people=2 if form.one("two") == "yes" else 1,
        words=words,
    )


def _expected(desk: Desk, view: JobView) -> OnSite:
    """How long the visit will take by the job's plan, or what such visits usually take."""
    plan = kept_plan(desk.store, view)
    if plan is None or plan.minutes < 1.0:
        return USUAL
    low, high = max(1.0, plan.minutes_low), min(LONGEST, plan.minutes_high)
    return OnSite(mean=min(max(plan.minutes, low), high), low=low, high=max(low, high))


def _on_site(form: Form) -> OnSite:
    try:
        low, mean, high = (
            float(form.one(name).replace(",", ".")) for name in ("low", "mean", "high")
        )
    except ValueError:
        low, mean, high = 0.0, 0.0, 0.0
    if not 1.0 <= low <= mean <= high <= LONGEST:
        msg = "the minutes on site need three numbers, such as 30, 45 and 75, the mean inside"
        raise FactError(msg)
    return OnSite(mean=mean, low=low, high=high)


def _reason(form: Form) -> Trouble:
    reason = form.one("reason")
    if reason not in get_args(Trouble):
        msg = "tap why the visit failed or was given up"
        raise FactError(msg)
    return reason  # type: ignore[return-value]  # checked above


def _wait(form: Form) -> WaitFor:
    what = form.one("what")
    if what not in get_args(WaitFor):
        msg = "tap what the job waits for"
        raise FactError(msg)
    return what  # type: ignore[return-value]  # checked above


def _until(text: str) -> datetime | None:
    if not text:
        return None
    try:
        return datetime.combine(date.fromisoformat(text), time(12)).astimezone(UTC)
    except (ValueError, OverflowError):
        msg = f"'{text[:20]}' is no day; write it like 2026-03-04"
        raise FactError(msg) from None
