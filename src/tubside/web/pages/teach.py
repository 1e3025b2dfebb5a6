"""Teaching a model: its name, the corners of the photo, the lamps, and the end."""

from __future__ import annotations

import msgspec
from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import ModelError, NotThereError, PhotoError
from tubside.panel.sketch import (
    MOST_LAMPS,
    Sketch,
    SketchLamp,
    panel_of,
    without_lamp,
)
from tubside.panel.straightening import in_order
from tubside.panel.writing import panel_text
from tubside.service import panel_photo
from tubside.service.model_file import checked_panel
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.models import drafts_of, looks, shop_of
from tubside.web.pages.sheet import kept_with_sheet
from tubside.web.pages.tap_picture import typed
from tubside.web.pages.teach_draft import At, at

SHOWN = 264
"""Width at which a picture to be tapped is shown [CSS pixels]: taps come in these."""
SHAPES = {"round": "round", "square": "square", "bar": "bar", "display": "the display"}


def begin(desk: Desk, request: Request, _form: Form) -> Response:
    """Name, family, and a photo or none."""
    shop_of(desk)
    families = [(name, desk.library.family(name).pack.title) for name in desk.library.families()]
    return desk.render(request, "model_new.html", {"families": families}, 200)


def keep_begin(desk: Desk, _request: Request, form: Form) -> Response:
    """Begin a draft and go on to its corners, or to its lamps when there is no photo."""
    name, family = form.one("name"), form.one("family")
    if not name or len(name) > 24 or not name.isprintable():
        msg = "write the model's name as on its plate, 1 to 24 letters and digits"
        raise ModelError(msg)
    desk.library.family(family)
    draft = drafts_of(desk).begin(Sketch(name=name, family=family), form.photo)
    return go(f"/models/drafts/{draft}/{'corners' if form.photo else 'lamps'}")


def corners(desk: Desk, request: Request, _form: Form) -> Response:
    """The photo, with the corners tapped so far."""
    it = at(desk, request)
    if not it.sketch.photo:
        return go(f"/models/drafts/{it.id}/lamps")
    width, height = panel_photo.size_in(it.drafts.photo(it.id))
    values = {
        "draft": it.id,
        "sketch": it.sketch,
        "size": (SHOWN, round(SHOWN * height / width)),
        "left": 4 - len(it.sketch.corners),
    }
    return desk.render(request, "model_corners.html", values, 200)


def keep_corners(desk: Desk, request: Request, form: Form) -> Response:
    """Take one corner, take one back, or make the photo square."""
    it = at(desk, request)
    here = go(f"/models/drafts/{it.id}/corners")
    if form.one("do") == "back":
        it.keep(corners=it.sketch.corners[:-1])
        return here
    if form.one("do") == "straighten":
        return _straighten(it, form)
    width, height = panel_photo.size_in(it.drafts.photo(it.id))
    tapped = (*it.sketch.corners[:3], _tapped(form, SHOWN * height / width))
    it.keep(corners=tapped)
    return here


def _straighten(it: At, form: Form) -> Response:
    if len(it.sketch.corners) != 4:
        msg = "tap the four corners of the panel first"
        raise PhotoError(msg)
    in_order(it.sketch.corners)
    wide, high = form.one("wide"), form.one("high")
    measured = typed(wide) / max(typed(high), 1.0) if wide and high else None
    it.drafts.straighten(it.id, it.sketch, measured)
    return go(f"/models/drafts/{it.id}/lamps")


def lamps(desk: Desk, request: Request, _form: Form) -> Response:
    """The straight photo or a blank front, with the lamps so far."""
    it = at(desk, request)
    if it.sketch.photo and it.drafts.straight(it.id) is None:
        return go(f"/models/drafts/{it.id}/corners")
    width, height = panel_photo.size_in(_board(it))
    values = {
        "draft": it.id,
        "sketch": it.sketch,
        "size": (SHOWN, round(SHOWN * height / width)),
        "next": _next_label(it.sketch),
        "shapes": list(SHAPES.items()),
        "shape": request.query_params.get("shape", "round"),
    }
    return desk.render(request, "model_lamps.html", values, 200)


def keep_lamps(desk: Desk, request: Request, form: Form) -> Response:
    """Take one lamp or the display, take one away, or keep other labels."""
    it = at(desk, request)
    here = f"/models/drafts/{it.id}/lamps"
    taken_away, shape = form.one("remove"), form.one("shape", "round")
    if taken_away == "display":
        it.keep(display=None)
    elif taken_away.isdigit():
        it.drafts.keep(it.id, without_lamp(it.sketch, int(taken_away)))
    elif form.one("do") == "labels":
        it.keep(lamps=_relabelled(it.sketch, form))
    else:
        width, height = panel_photo.size_in(_board(it))
        place = _tapped(form, SHOWN * height / width)
        if shape == "display":
            it.keep(display=place)
        else:
            it.keep(lamps=(*it.sketch.lamps, _lamp(it.sketch, form, place)))
    return go(f"{here}?shape={shape}" if shape in {"square", "bar"} else here)


def _lamp(sketch: Sketch, form: Form, place: tuple[float, float]) -> SketchLamp:
    label, shape = form.one("label") or _next_label(sketch), form.one("shape", "round")
    if len(sketch.lamps) >= MOST_LAMPS or shape not in SHAPES:
        msg = f"a panel has {MOST_LAMPS} lamps at most; tap its shape as well"
        raise ModelError(msg)
    return SketchLamp(label=_label(label), x=place[0], y=place[1], shape=shape)  # type: ignore[arg-type]  # checked above


def _relabelled(sketch: Sketch, form: Form) -> tuple[SketchLamp, ...]:
    return tuple(
        msgspec.structs.replace(lamp, label=_label(form.one(f"label.{n}", lamp.label)))
        for n, lamp in enumerate(sketch.lamps)
    )


def _label(text: str) -> str:
    if not 1 <= len(text) <= 24 or not text.isprintable():
        msg = "a label has 1 to 24 letters and digits, as printed beside the lamp"
        raise ModelError(msg)
    return text


def _next_label(sketch: Sketch) -> str:
    taken = {lamp.label for lamp in sketch.lamps}
    return next(str(n) for n in range(1, MOST_LAMPS + 2) if str(n) not in taken)


def look(desk: Desk, request: Request, _form: Form) -> Response:
    """Everything played once more, before it is kept."""
    it = at(desk, request)
    text, library = panel_text(panel_of(it.sketch)), desk.library
    panel = checked_panel(text, it.sketch.name, library.packs, library.layers)
    values = {"draft": it.id, "sketch": it.sketch, **looks(panel, it.pack)}
    return desk.render(request, "model_look.html", values, 200)


def keep_look(desk: Desk, request: Request, _form: Form) -> Response:
    """Keep the model for calls; the draft stays, to be changed later."""
    it = at(desk, request)
    panel, again = panel_of(it.sketch), it.sketch.saved_as is not None
    panel = kept_with_sheet(desk, panel, again=again)
    shop_of(desk).keep(panel, it.drafts.straight(it.id), again=again)
    it.keep(saved_as=panel.model)
    desk.library.forget(panel.model)
    return go(f"/models/{panel.model}")


def picture(desk: Desk, request: Request, _form: Form) -> Response:
    """The photo with its corners, or what lamps are tapped on."""
    it = at(desk, request)
    which = request.path_params["picture"]
    if which == "photo":
        content = panel_photo.with_corners(it.drafts.photo(it.id), it.sketch.corners)
    elif which == "board":
        content = _board(it)
    else:
        msg = "there is no such picture"
        raise NotThereError(msg)
    return Response(content, media_type="image/jpeg")


def _board(it: At) -> bytes:
    return panel_photo.board(it.sketch, it.drafts.straight(it.id))


def _tapped(form: Form, height: float) -> tuple[float, float]:
    """Where a picture was tapped, or the place typed in per cent, as shares of it."""
    if form.one("do") == "typed":
        across, down = typed(form.one("x")) / 100, typed(form.one("y")) / 100
    elif form.one("at.x"):
        across, down = typed(form.one("at.x")) / SHOWN, typed(form.one("at.y")) / height
    else:
        across, down = -1.0, -1.0
    if not (0 <= across <= 1.01 and 0 <= down <= 1.01):
        msg = "tap on the picture itself, or type a place from 0 to 100 per cent"
        raise PhotoError(msg)
    return min(across, 1.0), min(down, 1.0)
