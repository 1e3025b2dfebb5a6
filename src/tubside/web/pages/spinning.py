"""The speed of a spin, heard by a phone: how to record it, what it says, and as a reading."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from importlib.util import find_spec
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import FactError, NotThereError, RecordingError
from tubside.service.kept_recordings import kept_recordings
from tubside.service.recording_reading import shown_of, take_in
from tubside.service.recording_records import RecordingKept
from tubside.service.spin_sound import (
    erase_spin,
    is_sure,
    rated_rpm,
    read_and_keep,
    reading_of_spin,
    spin_check,
    spin_told,
)
from tubside.service.views import JobView
from tubside.service.wording import percent
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.job import cautions_read
from tubside.web.pages.people import ref_of
from tubside.web.pages.spin_drawing import spin_drawing

REFRESH_S = "2"
REACHED = 0.95
"""Of the rated speed, above which a drum has reached it (common practice, no source)."""


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """What can hurt, how to record a spin, and sending the recording."""
    return _page(desk, request, desk.view(request.path_params["job"]), "", 200)


def keep(desk: Desk, request: Request, form: Form) -> Response:
    """Take the sound of a spin in and read it while the pages go on."""
    view = desk.view(request.path_params["job"])
    _no_danger(view)
    if form.photo is None:
        return _page(desk, request, view, "choose a recording first", 422)
    bodies = cautions_read(spin_check(view) or "", [name for name, _ in _cautions(view)], form)
    ref = ref_of(form)
    if shown_of(desk.store, ref) is None:
        try:
            take_in(desk.store, view.id, ref, "spin", form.photo, desk.clock())
        except RecordingError as wrong:
            return _page(desk, request, view, str(wrong), 422)
        desk.keep(view.id, [*bodies, RecordingKept(ref=ref, of="spin")], form.one("once"))
    begin(desk, view.id, ref)
    return go(f"/jobs/{view.id}/spin/{ref}")


def begin(desk: Desk, job: str, ref: str) -> None:
    """Read the sound of a spin while the pages go on."""

    def read(told: Callable[[float], None]) -> None:
        read_and_keep(desk.store, job, ref, desk.clock, told)

    desk.work.begin(ref, read)


def told(desk: Desk, request: Request, _form: Form) -> Response:
    """The recording as far as it is: being read, not read, or what it says."""
    view, ref = desk.view(request.path_params["job"]), request.path_params["ref"]
    _there(desk, view, ref)
    progress = desk.work.progress(ref)
    common = {"view": view, "ref": ref, "shown": shown_of(desk.store, ref), "progress": progress}
    if progress is not None and not progress.over:
        response = desk.render(request, "recording_work.html", common, 200)
        response.headers["refresh"] = REFRESH_S
        return response
    answer = spin_told(desk.store, ref)
    if not answer or progress is not None:
        wrong = "" if progress is None else progress.wrong
        return desk.render(request, "recording_sound.html", {**common, "wrong": wrong}, 200)
    return desk.render(request, "spin_told.html", {**common, **_told(view, answer)}, 200)


def use(desk: Desk, request: Request, form: Form) -> Response:
    """Take the speed as the reading of the job, read it again, or erase the recording."""
    view, ref = desk.view(request.path_params["job"]), request.path_params["ref"]
    _there(desk, view, ref)
    if form.one("do") == "erase":
        erase_spin(desk.store, view.id, ref, desk.clock())
        return go(f"/jobs/{view.id}/spin")
    if form.one("do") == "read":
        desk.work.forget(ref)
        begin(desk, view.id, ref)
        return go(f"/jobs/{view.id}/spin/{ref}")
    check = _pegs(view)
    if check is None:
        msg = "say first that you are at the machine: this reading is for the technician there"
        raise FactError(msg)
    body = reading_of_spin(spin_told(desk.store, ref), check, "technician")
    desk.keep(view.id, [body], form.one("once"))
    return go(f"/jobs/{view.id}#after")


def in_words(answer: dict[str, Any], rated: float | None) -> dict[str, str]:
    """The numbers of an answer as they are shown, each with its interval.

    >>> in_words({"rpm": None, "run_up": None}, None)["spoken"]
    'No steady spin heard.'
    """
    if answer.get("rpm") is None:
        return {"spoken": "No steady spin heard.", "run_up": _run_up(answer)}
    low, high = answer["interval"]
    speed = float(answer["rpm"])
    return {
        "speed": f"{speed:.0f}",
        "ends": f"{low:.0f} to {high:.0f} rpm",
        "sure": percent(answer["probability"]),
        "run_up": _run_up(answer),
        "reached": "" if rated is None else _reached(speed / rated, rated),
        "spoken": f"A steady spin of {speed:.0f} rpm.",
    }


def _run_up(answer: dict[str, Any]) -> str:
    ran = answer.get("run_up")
    if ran is None:
        return ""
    seconds = ran["end_s"] - ran["start_s"]
    return f"{ran['from_rpm']:.0f} to {ran['to_rpm']:.0f} rpm in {seconds:.1f} s"


def _reached(share: float, rated: float) -> str:
    if share > 2.0 - REACHED:
        return (
            f"That is {100.0 * share:.0f} % of the {rated:.0f} rpm stated for this model, more than"
            " its drum should turn: perhaps a motor or a belt was heard."
        )
    if share >= REACHED:
        return f"It reaches the {rated:.0f} rpm stated for this model."
    return (
        f"It stays at {100.0 * share:.0f} % of the {rated:.0f} rpm stated for this model. Washing"
        " that lies badly, suds or a shorter programme can hold it back; an empty basket at full"
        " spin should come near it."
    )


def _told(view: JobView, answer: dict[str, Any]) -> dict[str, object]:
    rated = rated_rpm(None if view.known is None else view.known.panel)
    words = in_words(answer, rated)
    check = spin_check(view)
    spoken = f"The speed over time. {words['spoken']}"
    return {
        "words": words,
        "rated": rated,
        "drawing": spin_drawing(answer, rated, spoken),
        "advice": answer.get("advice", []),
        "length": answer.get("length_s", 0.0),
        "course": bool(answer.get("course")),
        "title": _entry(view, check).title if check else "",
        "usual": _entry(view, check).normal if check and rated is None else "",
        "pegs": _pegs(view) is not None and is_sure(answer),
        "at_machine": _on_site(view),
        "sure": is_sure(answer),
    }


def _page(desk: Desk, request: Request, view: JobView, wrong: str, status: int) -> Response:
    check = spin_check(view)
    values = {
        "view": view,
        "title": _entry(view, check).title if check else "",
        "cautions": _cautions(view),
        "wrong": wrong,
        "earlier": _earlier(desk, view),
        "at_machine": _on_site(view),
        "can_read": find_spec("av") is not None,
    }
    return desk.render(request, "spin.html", values, status)


def _cautions(view: JobView) -> list[tuple[str, Any]]:
    """What can hurt whoever takes the reading at the machine; nobody else takes it."""
    check = _pegs(view)
    if check is None or view.known is None:
        return []
    return [(name, view.known.pack.cautions[name]) for name in _entry(view, check).cautions]


def _earlier(desk: Desk, view: JobView) -> list[tuple[str, datetime]]:
    """The spins of a job that were not erased, the latest first, each with its time."""
    there = kept_recordings(desk.store, view.id)
    found = [
        (entry.body.ref, entry.at)
        for entry in view.entries
        if isinstance(entry.body, RecordingKept) and entry.body.of == "spin"
    ]
    return [one for one in reversed(found) if one[0] in there]


def _there(desk: Desk, view: JobView, ref: str) -> None:
    if ref not in {one for one, _ in _earlier(desk, view)}:
        msg = "there is no such recording of a spin, or it was erased"
        raise NotThereError(msg)


def _no_danger(view: JobView) -> None:
    if view.dangers:
        msg = "leave the machine switched off: nothing is recorded while there is a danger"
        raise FactError(msg)


def _pegs(view: JobView) -> str | None:
    """The check whose reading a spin can be now: on site, of a machine that may run."""
    return spin_check(view) if _on_site(view) and not view.dangers else None


def _on_site(view: JobView) -> bool:
    return view.source is not None and view.source.job.where == "site"


def _entry(view: JobView, check: str) -> Any:  # noqa: ANN401  # the pack's own entry
    assert view.known is not None
    return view.known.pack.checks[check]
