"""Going there: consent to the call-out fee, the visit with its window, and being at the machine."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, tzinfo

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import FactError
from tubside.service import records
from tubside.service.views import JobView
from tubside.service.visit_records import MachineMoved, Waiting
from tubside.web.pages.desk import Desk, Form, go

VISIT_STATUS = {
    "wanted": "Visit wanted",
    "booked": "Visit booked",
    "cancelled": "Visit cancelled",
    "failed": "Visit failed",
    "given-up": "Visit given up",
    "done": "Visit done",
}
TROUBLE = {
    "nobody-home": "nobody home",
    "no-access": "no way to the machine",
    "wrong-address": "wrong address",
    "unsafe-place": "unsafe place",
    "animal": "an animal in the way",
    "threatened": "threatened",
    "other": "another reason",
}
WAIT_WORDS = {
    "part": "A part is due",
    "quote": "A quote is unanswered",
    "ring-back": "Ring back",
    "visit": "A visit is to be booked",
    "customer": "The customer is to answer",
    "workshop": "In the workshop",
}


def wait_words(body: Waiting, zone: tzinfo | None = None) -> str:
    """What a job waits for, and until when.

    >>> wait_words(Waiting(what="quote"))
    'A quote is unanswered'
    """
    if body.what is None:
        return "Waits no more"
    until = "" if body.until is None else f", {body.until.astimezone(zone):%-d %b}"
    return f"{WAIT_WORDS[body.what]}{until}"


def moved_words(body: MachineMoved) -> str:
    """Where the machine went."""
    return "Machine taken to the workshop" if body.to == "workshop" else "Machine returned"


def keep(desk: Desk, request: Request, form: Form) -> Response:
    """Keep a booked visit with the consent it needs, or where the technician is."""
    job = request.path_params["job"]
    what = form.one("do")
    if what == "arrive":
        bodies: list[records.Body] = [records.Place(where="site")]
    elif what == "back-on-phone":
        bodies = [records.Place(where="phone")]
    elif what == "book":
        bodies = _booked(desk.view(job), form)
    else:
        msg = "tap book, or at the machine"
        raise FactError(msg)
    desk.keep(job, bodies, form.one("once"))
    return go(f"/jobs/{job}")


def visit_words(visit: records.Visit | None, zone: tzinfo | None = None) -> str:
    """A visit with its window in ``zone``, where this machine stands if none is given.

    >>> visit_words(records.Visit(status="wanted"))
    'Visit wanted'
    """
    if visit is None:
        return ""
    words = VISIT_STATUS[visit.status]
    if visit.reason is not None:
        words = f"{words}: {TROUBLE[visit.reason]}"
    if visit.arrive_from is None or visit.arrive_until is None:
        return words
    start, end = visit.arrive_from.astimezone(zone), visit.arrive_until.astimezone(zone)
    return f"{words}, {start.day} {start:%b, %H:%M} to {end:%H:%M}"


def _booked(view: JobView, form: Form) -> list[records.Body]:
    agreed = view.consent is not None and view.consent.agreed
    bodies: list[records.Body] = []
    if not agreed:
        if form.one("agreed") != "yes":
            msg = "ask whether the customer agrees to the call-out fee, and tick it"
            raise FactError(msg)
        bodies.append(records.Consent(amount_cents=_cents(form.one("fee")), agreed=True))
    start, end = window_of(form.one("day"), form.one("from"), form.one("until"))
    return [*bodies, records.Visit(status="booked", arrive_from=start, arrive_until=end)]


def window_of(
    day: str, begins: str, ends: str, zone: tzinfo | None = None
) -> tuple[datetime | None, datetime | None]:
    """The window of arrival (UTC) from a day and two times of ``zone``; none when all are empty.

    Raises
    ------
    FactError
        When one of the three is missing or wrong, or the window ends before it begins.
    """
    if not (day or begins or ends):
        return None, None
    try:
        on = date.fromisoformat(day)
        start, end = (
            datetime.combine(on, time.fromisoformat(text), zone).astimezone(UTC)
            for text in (begins, ends)
        )
    except (ValueError, OverflowError):
        msg = "a window needs a day and two times, such as 2026-03-04, 10:00 and 12:00; or none"
        raise FactError(msg) from None
    if start >= end:
        msg = f"the window ends at {ends}, not after {begins} when it begins"
        raise FactError(msg)
    return start, end


def _cents(text: str) -> int:
    try:
        amount = round(float(text.replace(",", ".")) * 100)
    except (ValueError, OverflowError):
        amount = -1
    if not 0 <= amount <= 100_000_00:
        msg = f"'{text}' is no amount of money; write it like 85 or 85.50"
        raise FactError(msg)
    return amount
