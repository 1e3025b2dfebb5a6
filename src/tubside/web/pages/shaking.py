"""A pushed tub on the phone's own sensor, or from a file; its bounces as a reading."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import FactError, NotThereError, RecordingError
from tubside.pack.schema import Observer
from tubside.service.danger import customer_may
from tubside.service.kept_recordings import kept_recordings
from tubside.service.recording_records import RecordingKept
from tubside.service.shaking import (
    MANY,
    bounce_check,
    erase_log,
    log_told,
    reading_of_log,
    take_log,
    whole_words,
)
from tubside.service.views import JobView
from tubside.service.wording import figures
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.job import cautions_read
from tubside.web.pages.people import ref_of
from tubside.web.pages.shake_drawing import shake_drawing

FLAG_WORDS = {
    "friction": "Dry friction",
    "two modes": "Two swings at once",
    "clipping": "The sensor reached its end",
    "no ring-down here": "No swing that dies away",
    "dies at once": "Back to its rest at once",
    "pushes disagree": "The pushes differ",
    "log too short": "The log ends too early",
    "few samples a second": "Few samples a second",
}


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """The cautions, how to lay the phone, and the log by sensor or by file."""
    return _page(desk, request, desk.view(request.path_params["job"]), "", 200)


def keep(desk: Desk, request: Request, form: Form) -> Response:
    """Read a log, keep it beside the job, and go on to what it says."""
    view = desk.view(request.path_params["job"])
    check = _check(view)
    if form.photo is None:
        return _page(desk, request, view, "choose the file of the log first", 422)
    bodies = cautions_read(check, _entry(view, check).cautions, form)
    ref = ref_of(form)
    try:
        take_log(desk.store, view.id, ref, form.photo, desk.clock())
    except RecordingError as wrong:
        return _page(desk, request, view, str(wrong), 422)
    desk.keep(view.id, [*bodies, RecordingKept(ref=ref, of="shake")], form.one("once"))
    return go(f"/jobs/{view.id}/shake/{ref}")


def told(desk: Desk, request: Request, _form: Form) -> Response:
    """What a log says: bounces and damping with their intervals, flags, the trace."""
    view, ref = desk.view(request.path_params["job"]), request.path_params["ref"]
    check = _check(view)
    answer = log_told(desk.store, view.id, ref, desk.clock())
    words = in_words(answer)
    values = {
        "view": view,
        "ref": ref,
        "title": _entry(view, check).title,
        "answer": answer,
        "words": words,
        "usual": _entry(view, check).normal,
        "drawing": shake_drawing(answer["trace"], f"The log over time. {words['spoken']}")
        if answer.get("trace")
        else None,
        "flags": [
            (FLAG_WORDS.get(flag, flag), advice)
            for flag, advice in zip(answer["flags"], answer["advice"], strict=True)
        ],
    }
    return desk.render(request, "shake_told.html", values, 200)


def use(desk: Desk, request: Request, form: Form) -> Response:
    """Take the bounces as the reading of the job, or erase the log."""
    view, ref = desk.view(request.path_params["job"]), request.path_params["ref"]
    if form.one("do") == "erase":
        erase_log(desk.store, view.id, ref, desk.clock())
        return go(f"/jobs/{view.id}/shake")
    answer = log_told(desk.store, view.id, ref, desk.clock())
    body = reading_of_log(answer, _check(view), _by(view))
    desk.keep(view.id, [body], form.one("once"))
    return go(f"/jobs/{view.id}#after")


def in_words(answer: dict[str, Any]) -> dict[str, str]:
    """The numbers of an answer as they are shown, each with its interval."""
    if answer["run_up"] is not None:
        ran = answer["run_up"]
        hertz = ran["resonance_hz"]
        passed = f" Resonance at {60.0 * hertz:.0f} rpm." if hertz is not None else ""
        return {"spoken": f"A spin up to {ran['end_rpm']:.0f} rpm.{passed}"}
    if answer["bounce_count"] is None:
        return {"spoken": "No swing that dies away."}
    ends = answer["interval"]
    count = answer["bounce_count"]
    shown = f"over {MANY:.0f}" if count > MANY else figures(count)
    return {
        "count": shown,
        "whole": whole_words(answer),
        "bounces": _between(ends["bounces"]),
        "ratio": f"{answer['damping_ratio']:.2g}",
        "ratio_ends": _between(ends["damping_ratio"]),
        "frequency": f"{answer['frequency_hz']:.2f} Hz",
        "frequency_ends": _between(ends["frequency_hz"]),
        "spoken": f"{shown} bounces until a swing is a tenth of the first.",
    }


def _between(ends: list[float]) -> str:
    return f"{ends[0]:.3g} to {ends[1]:.3g}"


def _page(desk: Desk, request: Request, view: JobView, wrong: str, status: int) -> Response:
    check = _check(view)
    entry = _entry(view, check)
    assert view.known is not None
    values = {
        "view": view,
        "title": entry.title,
        "cautions": [(name, view.known.pack.cautions[name]) for name in entry.cautions],
        "behind": entry.behind is not None,
        "wrong": wrong,
        "earlier": _earlier(desk, view),
    }
    return desk.render(request, "shake.html", values, status)


def _earlier(desk: Desk, view: JobView) -> list[tuple[str, datetime]]:
    """The logs of a job that were not erased, the latest first, each with its time."""
    there = kept_recordings(desk.store, view.id)
    found = [
        (entry.body.ref, entry.at)
        for entry in view.entries
        if isinstance(entry.body, RecordingKept) and entry.body.of == "shake"
    ]
    return [one for one in reversed(found) if one[0] in there]


def _check(view: JobView) -> str:
    check = bounce_check(view)
    if check is None:
        msg = "no check of this machine counts bounces"
        raise NotThereError(msg)
    entry = _entry(view, check)
    if _by(view) == "customer" and not customer_may([entry.customer_step], view.dangers)[0]:
        msg = "this is for the technician at the machine: say first that you are there"
        raise FactError(msg)
    return check


def _entry(view: JobView, check: str) -> Any:  # noqa: ANN401  # the pack's own entry
    assert view.known is not None
    return view.known.pack.checks[check]


def _by(view: JobView) -> Observer:
    on_site = view.source is not None and view.source.job.where == "site"
    return "technician" if on_site else "customer"
