"""A machine that nobody has taught: two plain questions, its name, and its panel sketched."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlencode

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import FactError
from tubside.panel.lights import MOST_BLINKS, OFF, SOUNDS, blinks
from tubside.panel.quick_sketch import (
    LAYOUTS,
    LONGEST_LABEL,
    MOST,
    NAMELESS,
    picture,
    sketch_of,
    words,
)
from tubside.service import records
from tubside.service.attachments import add_words
from tubside.service.panel_records import KindTold, PanelSketched
from tubside.service.replay import latest
from tubside.service.unseen import (
    families_left,
    front_of,
    look_of,
    plate_code,
    plate_of,
    same_plate,
)
from tubside.service.views import JobView
from tubside.web.pages.desk import Desk, Form, fresh_id, go
from tubside.web.pages.models import drafts_of
from tubside.web.pages.words import DANGER_WORDS, DOES_WORDS, OPENING_WORDS

LIGHTS = ("off", "steady", "flashing", *(str(blinks(n)) for n in range(2, MOST_BLINKS + 1)))
NOT_SURE = "not sure"
LAYOUT_WORDS = {"row": "in a row", "column": "in a column", "ring": "in a ring", "grid": "in rows"}


@dataclass(frozen=True, slots=True)
class Sketched:
    """A panel as it was sketched: moving, and in words."""

    picture: Markup
    words: str


def sketched(view: JobView) -> Sketched | None:
    """The panel of the latest sketch; None while there is none, or where a panel is known."""
    told = latest(view.entries, PanelSketched)
    if told is None or (view.known is not None and view.known.panel is not None):
        return None
    front, look = front_of(told, view.words), look_of(told)
    drawn = picture(front, look, plate_of(view.entries) or NAMELESS)
    return Sketched(Markup(drawn), words(front, look))  # noqa: S704  # our own drawing


def kind_values(desk: Desk, view: JobView) -> dict[str, object]:
    """What the two questions show: what was answered, and the families that are left."""
    told = latest(view.entries, KindTold)
    left = [] if told is None else families_left(told, desk.library.families())
    return {
        "kind": told,
        "left": [desk.library.family(name).pack.title for name in left],
        "does": list(DOES_WORDS.items()),
        "openings": list(OPENING_WORDS.items()),
        "plate": plate_of(view.entries) or "",
        "danger_words": DANGER_WORDS,
    }


def tell_kind(desk: Desk, request: Request, form: Form) -> Response:
    """Keep the answers; go on where they settle the family, else ask again."""
    job = request.path_params["job"]
    does, opening = form.one("does", "not-sure"), form.one("opening", "not-sure")
    if does not in DOES_WORDS or opening not in OPENING_WORDS:
        msg = "tap what it does, and where the clothes go in"
        raise FactError(msg)
    plate = plate_code(form.one("plate"))
    told = KindTold(does=does, opening=opening)  # type: ignore[arg-type]  # checked above
    left = families_left(told, desk.library.families())
    if not left:
        msg = "no pack knows such a machine; take another answer, or refer the customer elsewhere"
        raise FactError(msg)
    machine = _machine(desk, left, plate)
    bodies: list[records.Body] = [told, *([machine] if machine is not None else [])]
    desk.keep(job, bodies, form.one("once"))
    settled = machine is not None and machine.family is not None
    return go(f"/jobs/{job}/trouble" if settled else f"/jobs/{job}/machine#kind")


def _machine(desk: Desk, left: list[str], plate: str | None) -> records.Machine | None:
    """The model of that name, else the one family left with the name."""
    if plate is not None:
        for name in desk.library.models():
            family = desk.library.model(name).pack.family
            if same_plate(name) == same_plate(plate) and family in left:
                return records.Machine(model=name, family=family, plate=plate)
    if len(left) == 1:
        return records.Machine(family=left[0], plate=plate)
    return None if plate is None else records.Machine(plate=plate)


def sketch(desk: Desk, request: Request, _form: Form) -> Response:
    """The panel as sketched, and the form for its lamps once it is known how many there are."""
    view = desk.view(request.path_params["job"])
    before, asked = latest(view.entries, PanelSketched), request.query_params
    lamps, layout = _lamps(asked.get("lamps", "")), asked.get("layout", "row")
    display = asked.get("display") == "yes"
    if not lamps and before is not None:
        lamps, layout, display = len(before.lamps), before.layout, before.has_display
    same = before is not None and (len(before.lamps), before.layout) == (lamps, layout)
    values = {
        "view": view,
        "drawn": sketched(view),
        "count": lamps,
        "counts": [(str(n), str(n)) for n in range(1, MOST + 1)],
        "layout": layout if layout in LAYOUTS else "row",
        "layouts": list(LAYOUT_WORDS.items()),
        "display": display,
        "rows": _rows(view, lamps, before if same else None),
        "lights": (*LIGHTS, NOT_SURE),
        "sounds": [("", "not told"), *((s, "no sound" if s == "none" else s) for s in SOUNDS)],
        "sound": before.sound or "" if before is not None else "",
        "text": before.display or "" if before is not None else "",
        "longest": LONGEST_LABEL,
    }
    return desk.render(request, "sketch.html", values, 200)


def _rows(view: JobView, lamps: int, before: PanelSketched | None) -> list[tuple[int, str, str]]:
    """Number, label and light of each lamp as told before."""
    if before is None:
        return [(n, "", "off") for n in range(1, lamps + 1)]
    labels = front_of(before, view.words).labels
    return [
        (n, label, light)
        for n, (label, light) in enumerate(zip(labels, before.lamps, strict=True), 1)
    ]


def _lamps(text: str) -> int:
    number = int(text) if text.isascii() and text.isdigit() and len(text) < 3 else 0
    return number if number <= MOST else 0


def keep_sketch(desk: Desk, request: Request, form: Form) -> Response:
    """Keep the panel as told; it is drawn at once."""
    job = request.path_params["job"]
    lamps, layout = _lamps(form.one("lamps")), form.one("layout")
    lights = [form.one(f"lamp.{n}", "off") for n in range(1, lamps + 1)]
    sound = form.one("sound") or None
    wrong = any(light not in LIGHTS and light != NOT_SURE for light in lights)
    if not lights or wrong or layout not in LAYOUTS or (sound and sound not in SOUNDS):
        msg = f"tell how many lamps there are (1 to {MOST}), how they lie, and what each does"
        raise FactError(msg)
    has_display = form.one("has_display") == "yes"
    body = PanelSketched(
        layout=layout,
        lamps=lights,
        sound=sound,
        has_display=has_display,
        display=(form.one("display") or None) if has_display else None,
        labels=_labels(desk, job, [form.one(f"label.{n}") for n in range(1, lamps + 1)]),
    )
    desk.keep(job, [body], form.one("once"))
    return go(f"/jobs/{job}/sketch#drawn")


def _labels(desk: Desk, job: str, told: list[str]) -> str | None:
    """Keep the words beside the lamps away from the facts; their reference, None for none."""
    if not any(told):
        return None
    ref = fresh_id()
    add_words(
        desk.store, job, ref, "\n".join(words[:LONGEST_LABEL] for words in told), desk.clock()
    )
    return ref


def teach(desk: Desk, request: Request, _form: Form) -> Response:
    """Make the sketch the draft of a model, and go on to what it shows, as seen here."""
    view = desk.view(request.path_params["job"])
    told = latest(view.entries, PanelSketched)
    if told is None or view.known is None:
        msg = "sketch the panel and settle the kind of machine first"
        raise FactError(msg)
    name, front = plate_of(view.entries) or NAMELESS, front_of(told, view.words)
    draft = drafts_of(desk).begin(sketch_of(front, view.known.pack.family, name))
    return go(f"/models/drafts/{draft}/shows?{urlencode(seen_here(told))}")


def seen_here(told: PanelSketched) -> Mapping[str, str]:
    """The fields of the form of an indication as they were seen."""
    lit = {f"lamp.{n}": str(x) for n, x in enumerate(look_of(told).lights) if x and x != OFF}
    return {**lit, "sound": told.sound or "none", "display": told.display or ""}
