"""The safety test after repair on pages of a job: tests in order, decision, record."""

from __future__ import annotations

import re
from datetime import date

from starlette.requests import Request
from starlette.responses import Response

from tubside.documents.safety_paper import safety_pdf
from tubside.errors import SafetyError
from tubside.physics.electrics.copper import FLEXIBLE_WIRE
from tubside.safety.appliance import TOUCHED_WORDS
from tubside.safety.judging import OUTCOME_WORDS
from tubside.safety.profile_schema import KNOWN_WORDS
from tubside.safety.required import may_waive
from tubside.service.attachments import add_words
from tubside.service.heeded import LIVE_TEST
from tubside.service.records import Body, CautionRead
from tubside.service.replay import latest
from tubside.service.safety import SafetyView, appliance_of, decision, safety_of, told_of
from tubside.service.safety_record import label_of, record_of, tester_of
from tubside.service.safety_records import (
    ApplianceTold,
    SafetyLook,
    SafetyRcd,
    SafetyReading,
    WorkTouched,
)
from tubside.service.views import JobView
from tubside.web.pages import told_safety
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.job import reader
from tubside.web.pages.people import ref_of
from tubside.web.pages.safety_words import (
    REASON_WORDS,
    RELEASE_WORDS,
    UNIT_OF,
    UNIT_WORDS,
)
from tubside.web.security.login_page import session_in

NUMBER = re.compile(r"[0-9]{1,6}(?:[.,][0-9]{1,6})?")
STATES = {
    "free": "No test is asked for",
    "released": "Released",
    "not-released": "Not released: disabled and marked",
    "waived": "Closed without the test",
    "blocked": "The test comes before closing",
}


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """Tests in order, each with its limit, and how the machine is left."""
    view = desk.view(request.path_params["job"])
    found, session = safety_of(desk.store, view), session_in(request)
    profile = None if found.loaded is None else found.loaded.profile
    open_rows = [row for row in found.rows if row.verdict is None]
    values = {
        "view": view,
        "safety_tells": told_safety,
        "found": found,
        "profile": profile,
        "state": STATES[found.way] if profile else "No country is chosen",
        "told_touched": latest(view.entries, WorkTouched) is not None,
        "touched_words": TOUCHED_WORDS,
        "sections": list(FLEXIBLE_WIRE),
        "next_id": open_rows[0].item.id if open_rows else None,
        "meter": latest(view.entries, SafetyReading),
        "known": KNOWN_WORDS,
        "units": UNIT_WORDS,
        "unit_of": UNIT_OF,
        "outcomes": OUTCOME_WORDS,
        "told_of": told_of,
        "release_words": RELEASE_WORDS,
        "reasons": REASON_WORDS,
        "waivable": profile is not None and may_waive(profile),
        "by": tester_of(view, found)[0],
        "tester": "" if session is None else session.user.name,
        "label": label_of(view, found),
    }
    return desk.render(request, "safety.html", values, 200)


def record(desk: Desk, request: Request, _form: Form) -> Response:
    """The record to print."""
    view = desk.view(request.path_params["job"])
    found = safety_of(desk.store, view)
    values = {"view": view, "told": record_of(desk.store, view, found, desk.clock())}
    return desk.render(request, "safety_record.html", values, 200)


def paper(desk: Desk, request: Request, _form: Form) -> Response:
    """The record as a PDF, of the day of the decision or of today."""
    view = desk.view(request.path_params["job"])
    found = safety_of(desk.store, view)
    told = record_of(desk.store, view, found, desk.clock())
    day = (found.released_at or desk.clock()).astimezone().date()
    name = f'inline; filename="safety-{told.number.lower()}.pdf"'
    headers = {"content-disposition": name}
    return Response(safety_pdf(told, day), media_type="application/pdf", headers=headers)


def keep(desk: Desk, request: Request, form: Form) -> Response:
    """Keep one of the forms of the page."""
    job = request.path_params["job"]
    view = desk.view(job)
    body, on = _told(desk, view, form)
    by, ticked = reader(request), form.all("caution")
    read = [CautionRead(caution=LIVE_TEST, step=one, by=by) for one in ticked]
    desk.keep(job, [*read, body], form.one("once"))
    return go(f"/jobs/{job}/safety{on}")


def _told(desk: Desk, view: JobView, form: Form) -> tuple[Body, str]:
    found = safety_of(desk.store, view)
    match form.one("do"):
        case "touched":
            what = [one for one in form.all("what") if one in TOUCHED_WORDS]
            return WorkTouched(what=what), ""
        case "appliance":
            return _appliance(form), ""
        case "decide":
            return _decided(desk, view, found, form), "#decide"
        case "look" | "reading" | "rcd" as kind:
            return _tested(found, kind, form), f"#test-{form.one('test')[:30]}"
        case _:
            msg = "nothing was told here; choose one of the buttons"
            raise SafetyError(msg)


def _appliance(form: Form) -> ApplianceTold:
    told = ApplianceTold(
        protection="II" if form.one("protection") == "II" else "I",
        heater_kw=_number(form, "heater_kw", "power of the heater"),
        cord_m=_number(form, "cord_m", "length of the cord"),
        cord_mm2=_number(form, "cord_mm2", "section of the cord"),
        electronic_switch=form.one("electronic_switch") == "yes",
        surge_parts=form.one("surge_parts") == "yes",
        rcd=form.one("rcd") == "yes",
    )
    appliance_of(told)  # refuses what cannot be
    return told


def _tested(found: SafetyView, kind: str, form: Form) -> Body:
    test = form.one("test")
    item = next((row.item for row in found.rows if row.item.id == test), None)
    if item is None or kind != ("look" if item.kind == "run" else item.kind):
        msg = f"the test '{test[:40]}' is not part of this plan; open the page again"
        raise SafetyError(msg)
    if item.acknowledged and form.all("caution") != [test]:
        msg = "read what can hurt in this test, and tick it"
        raise SafetyError(msg)
    if kind == "look":
        if form.one("outcome") not in {"pass", "fail"}:
            msg = "say whether it is right"
            raise SafetyError(msg)
        return SafetyLook(test=test, outcome="pass" if form.one("outcome") == "pass" else "fail")
    if kind == "rcd":
        return SafetyRcd(
            at_rated_ms=_maybe(form, "at_rated_ms", "time"),
            at_five_ms=_maybe(form, "at_five_ms", "time"),
            tripped_at_half={"holds": False, "trips": True}.get(form.one("half")),
            no_trip=form.one("no_trip") == "yes",
        )
    return SafetyReading(
        test=test,
        value=_number(form, "value", "reading"),
        uncertainty=_number(form, "uncertainty", "uncertainty", above_zero=True),
        instrument=_instrument(form),
        calibrated=_day(form, "calibrated"),
        due=_due(form),
        over_range=form.one("says") == "over",
    )


def _decided(desk: Desk, view: JobView, found: SafetyView, form: Form) -> Body:
    name, licence, ref = form.one("tester"), form.one("licence"), ref_of(form)
    given = form.one("reason")
    reason = given if given in REASON_WORDS else None
    release = form.one("release")
    if release not in RELEASE_WORDS:
        msg = "say how the machine is left"
        raise SafetyError(msg)
    body = decision(found, release, reason, ref if name else None)
    add_words(desk.store, view.id, ref, f"{name}\n{licence}".strip(), desk.clock())
    return body


def _instrument(form: Form) -> str:
    if not form.one("instrument"):
        msg = "write which instrument it was, with its number"
        raise SafetyError(msg)
    return form.one("instrument")[:80]


def _maybe(form: Form, name: str, what: str) -> float | None:
    return _number(form, name, what) if form.one(name) else None


def _number(form: Form, name: str, what: str, *, above_zero: bool = False) -> float:
    text = form.one(name)
    value = float(text.replace(",", ".")) if NUMBER.fullmatch(text) else -1.0
    if value < 0.0 or (above_zero and value == 0.0):
        msg = f"'{text[:40]}' is no {what}; write a number such as 0.12"
        raise SafetyError(msg)
    return value


def _day(form: Form, name: str) -> date:
    try:
        return date.fromisoformat(form.one(name))
    except ValueError:
        msg = f"'{form.one(name)[:40]}' is no day; write it like 2026-03-31"
        raise SafetyError(msg) from None


def _due(form: Form) -> date:
    due = _day(form, "due")
    if due < _day(form, "calibrated"):
        msg = "the calibration is good until a day before it was done; look at the two dates"
        raise SafetyError(msg)
    return due
