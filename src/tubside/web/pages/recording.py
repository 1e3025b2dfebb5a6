"""One recording of a job: its lamps tapped on the first picture, read, and told one by one."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from urllib.parse import urlencode

from markupsafe import Markup
from msgspec.structs import replace
from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import FactError, NotThereError
from tubside.panel.drawing import seen_svg
from tubside.panel.matching import Seen
from tubside.panel.schema import Panel
from tubside.service.kept_recordings import kept_recordings, read_recording
from tubside.service.recording_reading import (
    Shown,
    first_picture,
    keep_shown,
    read_lamps,
    shown_of,
)
from tubside.service.recording_records import RecordingKept
from tubside.service.views import JobView
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.recording_told import meanings, told_lamps, told_sound
from tubside.web.pages.recordings import (
    begin_sound,
    erase,
    heard_alone,
    known_panel,
    may_record,
    panel_of,
    reading_of,
)
from tubside.web.pages.tap_picture import SHOWN, Place, Window, height_of, marked, typed

FEWEST_TAPS = 3
REFRESH_S = "2"


@dataclass(frozen=True, slots=True)
class Tapping:
    """What was tapped so far, in shares of the picture, and which part of it is shown."""

    near: str
    places: Mapping[str, Place]

    @property
    def window(self) -> Window:
        """The part of the picture shown."""
        return Window() if self.near in {"", "whole"} else Window.around(_place(self.near))

    def query(self, **more: str) -> str:
        """The taps as the query of an address."""
        at = [("at", f"{lamp}:{x:.4f},{y:.4f}") for lamp, (x, y) in self.places.items()]
        return urlencode([*([("near", self.near)] if self.near else []), *at, *more.items()])


def tapping_of(request: Request, panel: Panel) -> Tapping:
    """The taps in an address, those on lamps that the panel has."""
    found = (one.rpartition(":") for one in request.query_params.getlist("at"))
    places = {lamp: _place(at) for lamp, _, at in found if lamp in panel.lamps}
    return Tapping(request.query_params.get("near", ""), places)


def _place(text: str) -> Place:
    x, _, y = text.partition(",")
    return _share(x), _share(y)


def _share(text: str) -> float:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = -1.0
    if not -0.01 <= value <= 1.01:
        msg = "tap on the picture itself, or type a place from 0 to 100 per cent"
        raise FactError(msg)
    return min(max(value, 0.0), 1.0)


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """The recording as far as it is: being read, read, or to be tapped."""
    view, ref = desk.view(request.path_params["job"]), request.path_params["ref"]
    shown = _shown(desk, view, ref)
    if shown.of == "spin":
        return go(f"/jobs/{view.id}/spin/{ref}")
    progress = desk.work.progress(ref)
    common = {"view": view, "ref": ref, "shown": shown, "progress": progress}
    if progress is not None and not progress.over:
        response = desk.render(request, "recording_work.html", common, 200)
        response.headers["refresh"] = REFRESH_S
        return response
    wrong = "" if progress is None else progress.wrong
    there = ref in kept_recordings(desk.store, view.id)
    again = "again" in request.query_params or request.query_params.get("at") is not None
    read = reading_of(view, ref) is not None or heard_alone(desk, view, ref)
    if read and not again and not wrong:
        values = {**common, "there": there, **_told(view, shown, ref)}
        return desk.render(request, "recording_told.html", values, 200)
    if not there:
        msg = "this recording was erased"
        raise NotThereError(msg)
    if shown.of == "sound":
        return desk.render(request, "recording_sound.html", {**common, "wrong": wrong}, 200)
    return _to_tap(desk, request, view, {**common, "wrong": wrong})


def _shown(desk: Desk, view: JobView, ref: str) -> Shown:
    kept = [e.body for e in view.entries if isinstance(e.body, RecordingKept)]
    shown = shown_of(desk.store, ref) if any(body.ref == ref for body in kept) else None
    if shown is None:
        msg = "there is no such recording, or it was erased"
        raise NotThereError(msg)
    return shown


def _told(view: JobView, shown: Shown, ref: str) -> dict[str, object]:
    read = reading_of(view, ref)
    return {
        "read": read,
        "lamps": () if read is None else told_lamps(read, shown.answer, known_panel(view)),
        "sound": told_sound(shown.answer) if shown.of == "sound" else (),
        "advice": list(shown.answer.get("advice", [])),
        "meanings": () if read is None else meanings(view, read),
    }


def _to_tap(desk: Desk, request: Request, view: JobView, common: dict[str, object]) -> Response:
    panel, ref = panel_of(view), str(common["ref"])
    tapping = tapping_of(request, panel)
    query = request.query_params
    here = f"/jobs/{view.id}/recordings/{ref}"
    if drop := query.get("drop"):
        left = {lamp: at for lamp, at in tapping.places.items() if lamp != drop}
        return go(f"{here}?{Tapping(tapping.near, left).query(again='yes')}")
    shown = _shown(desk, view, ref)
    tapped = _tapped(request, shown)
    if tapped is not None:
        return go(
            f"{here}?{_with(tapping, tapped, query.get('lamp', ''), panel).query(again='yes')}"
        )
    waiting = [lamp for lamp in panel.lamps if lamp not in tapping.places]
    fewest = min(FEWEST_TAPS, len(panel.lamps))
    values = {
        **common,
        "tapping": tapping,
        "panel": panel,
        "drawing": Markup(seen_svg(panel, Seen(), alone=False)),  # noqa: S704  # our own drawing
        "choices": [(lamp, panel.lamps[lamp].label) for lamp in panel.lamps],
        "next": waiting[0] if waiting else "",
        "missing": max(fewest - len(tapping.places), 0),
        "fewest": fewest,
        "size": (SHOWN, round(height_of(shown.width, shown.height))),
        "earlier": _earlier(desk, view, ref),
    }
    return desk.render(request, "recording_taps.html", values, 200)


def _tapped(request: Request, shown: Shown) -> Place | None:
    """Where the shown part of the picture was tapped or typed, in shares of that part."""
    query = request.query_params
    if query.get("do") == "typed":
        x, y = (query.get(name, "").strip() for name in ("x", "y"))
        return _per_cent(x), _per_cent(y)
    if "tap.x" not in query:
        return None
    high = height_of(shown.width, shown.height)
    return typed(query["tap.x"]) / SHOWN, typed(query.get("tap.y", "")) / high


def _per_cent(text: str) -> float:
    return typed(text) / 100


def _with(tapping: Tapping, at: Place, lamp: str, panel: Panel) -> Tapping:
    """The taps with one more: the panel's middle first, then lamps."""
    x, y = tapping.window.outward((min(at[0], 1.0), min(at[1], 1.0)))
    if not tapping.near:
        return Tapping(f"{x:.4f},{y:.4f}", tapping.places)
    if lamp not in panel.lamps:
        msg = "say which lamp was tapped"
        raise FactError(msg)
    return Tapping(tapping.near, {**tapping.places, lamp: (x, y)})


def _earlier(desk: Desk, view: JobView, ref: str) -> list[str]:
    """Clips whose lamps were tapped before, still kept, to be read together with this one."""
    there = kept_recordings(desk.store, view.id)
    kept = [e for e in view.entries if isinstance(e.body, RecordingKept) and not e.retracted_by]
    refs = [e.body.ref for e in kept if isinstance(e.body, RecordingKept) and e.body.of == "lamps"]
    tapped = [one for one in refs if one != ref and one in there]
    return [one for one in tapped if (shown := shown_of(desk.store, one)) and shown.taps][-5:]


def act(desk: Desk, request: Request, form: Form) -> Response:
    """Read it, read it again, leave a mistake behind, or erase it."""
    view, ref = desk.view(request.path_params["job"]), request.path_params["ref"]
    shown = _shown(desk, view, ref)
    here = f"/jobs/{view.id}/recordings/{ref}"
    if form.one("do") == "erase":
        erase(desk, view.id, ref)
        return go(f"/jobs/{view.id}/recordings")
    may_record(view)
    desk.work.forget(ref)
    if shown.of == "sound":
        begin_sound(desk, view.id, ref, known_panel(view))
        return go(here)
    panel = panel_of(view)
    places = {
        lamp: _place(at)
        for lamp, _, at in (one.rpartition(":") for one in form.all("at"))
        if lamp in panel.lamps
    }
    if len(places) < min(FEWEST_TAPS, len(panel.lamps)):
        msg = f"tap {min(FEWEST_TAPS, len(panel.lamps))} lamps at least"
        raise FactError(msg)
    taps = {lamp: (x * shown.width, y * shown.height) for lamp, (x, y) in places.items()}
    together = _earlier(desk, view, ref) if form.one("together") == "yes" else []
    shown = replace(shown, taps=taps, together=together)
    keep_shown(desk.store, ref, shown, desk.clock())
    begin_lamps(desk, view.id, ref, panel)
    return go(here)


def begin_lamps(desk: Desk, job: str, ref: str, panel: Panel) -> None:
    """Read the lamps of a clip, with the clips it goes together with, while the pages go on."""

    def read(told: Callable[[float], None]) -> None:
        shown = shown_of(desk.store, ref)
        assert shown is not None
        others = {one: shown_of(desk.store, one) for one in shown.together}
        clips = {one: other.taps for one, other in others.items() if other is not None}
        fact, answer = read_lamps(desk.store, job, {**clips, ref: shown.taps}, panel, told)
        desk.keep(job, [fact])
        keep_shown(desk.store, ref, replace(shown, answer=answer), desk.clock())

    desk.work.begin(ref, read)


def picture(desk: Desk, request: Request, _form: Form) -> Response:
    """The first picture, or a part of it, with a ring at each lamp tapped."""
    view, ref = desk.view(request.path_params["job"]), request.path_params["ref"]
    found = read_recording(desk.store, view.id, first_picture(ref))
    panel = known_panel(view)
    tapping = Tapping("whole", {}) if panel is None else tapping_of(request, panel)
    labels = {} if panel is None else {n: lamp.label for n, lamp in panel.lamps.items()}
    places = {labels[lamp]: at for lamp, at in tapping.places.items()}
    return Response(marked(found.content, tapping.window, places), media_type="image/jpeg")
