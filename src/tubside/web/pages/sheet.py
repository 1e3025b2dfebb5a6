"""The sheet of a model: values of its plate and service sheet, and the articles that fit."""

from __future__ import annotations

from collections.abc import Mapping
from typing import cast, get_args

import msgspec
from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import ModelError
from tubside.pack.fault_model import FaultModel
from tubside.panel.schema import Fit, Panel, SheetFrom, SheetValue
from tubside.panel.serials import HOW
from tubside.panel.sheet_names import SHEET
from tubside.panel.sheet_values import source_words, value_words
from tubside.quantities import Question
from tubside.service.knowledge import Knowledge, models
from tubside.service.model_sheet import (
    choices,
    told_fit,
    told_value,
    with_sheet_of,
    without_fit,
    without_value,
)
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.models import shop_of

FROM_CHOICES = (
    ("sheet", "service sheet"),
    ("plate", "type plate"),
    ("seen", "own observation"),
    ("hearsay", "hearsay"),
)
FIELDS = ("value", "known_from", "page", "tolerance", "note")


def sheet(desk: Desk, request: Request, _form: Form) -> Response:
    """What the model's sheet says, with forms to tell more."""
    name = request.path_params["model"]
    known = desk.library.model(name)
    assert known.panel is not None
    family = desk.library.family(known.panel.family)
    own = name not in models(desk.library.packs)
    asked, place = request.query_params.get("edit", ""), request.query_params.get("fit", "")
    fit = known.panel.fits[int(place)] if _is_place(place, known.panel) else None
    values = {
        "name": name,
        "panel": known.panel,
        "own": own,
        "told": _told(known.panel, family.model),
        "choices": choices(family.model),
        "editing": asked if asked in known.panel.sheet else "",
        "value": known.panel.sheet.get(asked),
        "fits": [_fit_told(known, it) for it in known.panel.fits],
        "fit": fit,
        "fit_place": place if fit is not None else "",
        "kinds": sorted((it.title, kind) for kind, it in family.pack.parts.items()),
        "known_from": FROM_CHOICES,
        "how_compared": HOW,
    }
    return desk.render(request, "model_sheet.html", values, 200)


def keep_sheet(desk: Desk, request: Request, form: Form) -> Response:
    """Tell a value or a fit, take one away, or ask what was meant."""
    name = request.path_params["model"]
    shop = shop_of(desk)
    panel = shop.read(name)
    do, _, which = form.one("do").partition(":")
    if do == "value":
        changed = _with_value(panel, form, desk.library.family(panel.family).model)
        if isinstance(changed, Question):
            return _ask(desk, request, panel, form, changed)
    elif do == "fit":
        changed = told_fit(panel, _fit(form), _place(form.one("place")))
    elif do == "forget":
        changed = without_value(panel, which)
    elif do == "forget-fit":
        changed = without_fit(panel, -1 if (n := _place(which)) is None else n)
    else:
        msg = "press one of the buttons of the sheet"
        raise ModelError(msg)
    shop.keep(changed, shop.photo(name), again=True)
    desk.library.forget(name)
    return go(f"/models/{name}/sheet#{'fits' if 'fit' in do else 'told'}")


def kept_with_sheet(desk: Desk, panel: Panel, *, again: bool) -> Panel:
    """A model drawn anew, with the sheet that it had before."""
    return with_sheet_of(panel, shop_of(desk).read(panel.model)) if again else panel


def _with_value(panel: Panel, form: Form, family: FaultModel) -> Panel | Question:
    name, text = form.one("name"), form.one("value")
    if not text or len(text) > 40:
        msg = "write the value with its unit, such as 26 Ω"
        raise ModelError(msg)
    value = SheetValue(
        value=text,
        known_from=_source(form),
        page=form.one("page")[:60],
        tolerance=form.one("tolerance")[:40] or None,
        note=form.one("note")[:200],
    )
    was = form.one("was")
    before = without_value(panel, was) if was and was != name and was in panel.sheet else panel
    return told_value(before, name, value, family, sure=form.one("sure") == "yes")


def _ask(desk: Desk, request: Request, panel: Panel, form: Form, question: Question) -> Response:
    """The question what was meant; the second time it is kept as written."""
    kept = ("name", "was", "known_from", "page", "tolerance", "note")
    written = SHEET[form.one("name")].title
    values = {
        "name": panel.model,
        "title": f"{panel.name}: {written}",
        "question": question.text,
        "choices": [choice.text for choice in question.alternatives],
        "hidden": [(field, form.one(field)) for field in kept],
    }
    return desk.render(request, "model_sheet_question.html", values, 200)


def _fit(form: Form) -> Fit:
    given = {
        field: form.one(field)[:40] or None
        for field in ("serial_from", "serial_to", "superseded_by")
    }
    part, article = form.one("part"), form.one("article")
    if not part or not article or len(article) > 40:
        msg = "pick the part, and write the article's number, 40 letters and digits at most"
        raise ModelError(msg)
    source, page, note = _source(form), form.one("page")[:60], form.one("note")[:200]
    return Fit(part=part, article=article, known_from=source, page=page, note=note, **given)


def _source(form: Form) -> SheetFrom:
    source = form.one("known_from")
    if source not in get_args(SheetFrom):
        msg = "say where you have it from: sheet, plate, own observation or hearsay"
        raise ModelError(msg)
    return cast("SheetFrom", source)


def _place(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 4 else None


def _is_place(text: str, panel: Panel) -> bool:
    place = _place(text)
    return place is not None and place < len(panel.fits)


def _told(panel: Panel, model: FaultModel) -> list[Mapping[str, object]]:
    family = {it.name: it.family for _, group in choices(model) for it in group}
    return [
        {
            "name": name,
            "title": SHEET[name].title,
            "value": value_words(panel.sheet[name]),
            "source": source_words(panel.sheet[name]),
            "note": panel.sheet[name].note,
            "family": family.get(name, ""),
        }
        for name in SHEET
        if name in panel.sheet
    ]


def _fit_told(known: Knowledge, fit: Fit) -> Mapping[str, object]:
    kind = known.pack.parts.get(fit.part)
    return {
        "title": kind.title if kind is not None else fit.part,
        "serials": _serials(fit),
        "source": source_words(fit),
        **msgspec.structs.asdict(fit),
    }


def _serials(fit: Fit) -> str:
    if fit.serial_from and fit.serial_to:
        return f"serial numbers {fit.serial_from} to {fit.serial_to}"
    if fit.serial_from:
        return f"serial numbers from {fit.serial_from}"
    return f"serial numbers up to {fit.serial_to}" if fit.serial_to else "every serial number"
