"""The recordings of a job: how to film and record, and sending one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from importlib.util import find_spec

from msgspec.structs import replace
from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import FactError, RecordingError
from tubside.panel.schema import Panel
from tubside.service.kept_recordings import erase_recording, kept_recordings, read_recording
from tubside.service.recording_reading import (
    NAMES,
    first_picture,
    hear_sound,
    keep_shown,
    read_sound,
    shown_of,
    take_in,
)
from tubside.service.recording_records import RecordingKept, RecordingRead
from tubside.service.spin_sound import spin_told
from tubside.service.views import JobView
from tubside.web.pages.desk import Desk, Form, fresh_id, go
from tubside.web.pages.recording_words import read_words, spin_words

OF_WORDS = (("lamps", "the lamps, as a clip"), ("sound", "notes or pulses, as a sound or a clip"))
ENDINGS = {"video/quicktime": "mov", "video/x-msvideo": "avi", "audio/mpeg": "mp3"}


@dataclass(frozen=True, slots=True)
class Line:
    """One recording in the list."""

    ref: str
    of: str
    at: datetime
    words: str
    erased: bool


def listed(desk: Desk, request: Request, _form: Form) -> Response:
    """How to film and record, and what was sent."""
    view = desk.view(request.path_params["job"])
    panel = known_panel(view)
    choices = OF_WORDS if panel is not None else OF_WORDS[1:]
    values = {
        "view": view,
        "lines": lines(desk, view),
        "choices": choices,
        "of": request.query_params.get("of", choices[0][0]),
        "panel": panel,
        "can_read": find_spec("av") is not None and find_spec("cv2") is not None,
    }
    return desk.render(request, "recordings.html", values, 200)


def lines(desk: Desk, view: JobView) -> list[Line]:
    """Clips, sounds and spins of the job, the latest first."""
    there, found = kept_recordings(desk.store, view.id), []
    for entry in view.entries:
        body = entry.body
        if isinstance(body, RecordingKept) and body.of in NAMES and entry.retracted_by is None:
            read = reading_of(view, body.ref)
            words = "not read yet" if read is None else read_words(read)
            if body.of == "spin":
                words = spin_words(spin_told(desk.store, body.ref))
            elif read is None and heard_alone(desk, view, body.ref):
                words = "heard; no panel known to read it by"
            found.append(Line(body.ref, body.of, entry.at, words, body.ref not in there))
    return found[::-1]


def reading_of(view: JobView, ref: str) -> RecordingRead | None:
    """The latest reading of a recording that counts."""
    found = [
        e.body
        for e in view.entries
        if isinstance(e.body, RecordingRead) and e.retracted_by is None and ref in e.body.refs
    ]
    return found[-1] if found else None


def send(desk: Desk, request: Request, form: Form) -> Response:
    """Take a recording in; a sound is read at once, a clip once its lamps are tapped."""
    view = desk.view(request.path_params["job"])
    of = form.one("of", "lamps")
    if of not in dict(OF_WORDS):
        msg = "say what was recorded: the lamps or a sound"
        raise FactError(msg)
    may_record(view)
    if of == "lamps":
        panel_of(view)
    if form.photo is None:
        msg = "choose a recording first"
        raise RecordingError(msg)
    once = form.one("once") or fresh_id()
    ref = f"{once[:50]}-rec"
    if shown_of(desk.store, ref) is None:
        take_in(desk.store, view.id, ref, of, form.photo, desk.clock())
        desk.keep(view.id, [RecordingKept(ref=ref, of=of)], once)  # type: ignore[arg-type]  # checked above
    if of == "sound":
        begin_sound(desk, view.id, ref, known_panel(view))
    return go(f"/jobs/{view.id}/recordings/{ref}")


def known_panel(view: JobView) -> Panel | None:
    """The panel of the job's machine, where its model has one."""
    return None if view.known is None else view.known.panel


def may_record(view: JobView) -> None:
    """Raise FactError where a danger says that the machine stays off."""
    if view.dangers:
        msg = "leave the machine switched off: nothing is recorded while there is a danger"
        raise FactError(msg)


def panel_of(view: JobView) -> Panel:
    """The panel that is recorded.

    Raises
    ------
    FactError
        Where none is known, or a danger says that the machine stays off.
    """
    may_record(view)
    panel = known_panel(view)
    if panel is None:
        msg = "no panel is known for this machine; name its model first"
        raise FactError(msg)
    return panel


def heard_alone(desk: Desk, view: JobView, ref: str) -> bool:
    """Whether a sound was heard where no panel is known that could mean something by it."""
    shown = shown_of(desk.store, ref) if known_panel(view) is None else None
    return shown is not None and shown.of == "sound" and bool(shown.answer)


def begin_sound(desk: Desk, job: str, ref: str, panel: Panel | None) -> None:
    """Read a sound while the pages go on; without a panel it is no evidence, only told."""

    def read(told: Callable[[float], None]) -> None:
        if panel is None:
            answer = hear_sound(desk.store, job, ref, told)
        else:
            fact, answer = read_sound(desk.store, job, ref, panel, told)
            desk.keep(job, [fact])
        shown = shown_of(desk.store, ref)
        if shown is not None:
            keep_shown(desk.store, ref, replace(shown, answer=answer), desk.clock())

    desk.work.begin(ref, read)


def file(desk: Desk, request: Request, _form: Form) -> Response:
    """The recording itself, to be saved."""
    found = read_recording(desk.store, request.path_params["job"], request.path_params["ref"])
    ending = ENDINGS.get(found.media_type, found.media_type.rpartition("/")[2])
    headers = {"content-disposition": f'attachment; filename="recording.{ending}"'}
    return Response(found.content, media_type=found.media_type, headers=headers)


def erase(desk: Desk, job: str, ref: str) -> None:
    """Erase a recording and its first picture; what was read of it stays."""
    there = kept_recordings(desk.store, job)
    for one in (ref, first_picture(ref)):
        if one in there:
            erase_recording(desk.store, job, one, desk.clock())
