"""Change what a pack says: tried first, its effect told, kept with a reason, taken back."""

from __future__ import annotations

import json
from time import monotonic
from typing import cast

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import FileProblemsError, LayerError, TubsideError
from tubside.pack.compiling import compile_pack
from tubside.pack.fault_model import FaultModel
from tubside.pack.layer.editing import Signed
from tubside.pack.layer.targets import target_of, told, value_at
from tubside.pack.layer.writing import value_text
from tubside.pack.reading import PackSource
from tubside.pack.schema import Pack
from tubside.service.layer_effect import Effect, Outset, TypicalCall, effect, outset, typical_calls
from tubside.service.layer_use import advised_on
from tubside.service.pack_entry import Edits, edit_of_field, edits_of_new
from tubside.service.predictions import with_predictions
from tubside.service.roles import check_office
from tubside.service.shop_layer import ShopLayers, Tried
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.packs import SHOWS_IT, current, entry_page, layers_of, new_page
from tubside.web.security.login_page import session_in

KEPT_OUTSETS = 4096
LONGEST_EDITS = 60_000
_OUTSETS: dict[tuple[str, TypicalCall], Outset] = {}


def try_field(desk: Desk, request: Request, form: Form) -> Response:
    """Try another value of one field; refused beside the field, or its effect told."""
    section, name = request.path_params["section"], request.path_params["name"]
    field, text, why = form.one("field"), form.one("value"), form.one("why")
    _check(request)
    try:
        edits = edit_of_field(section, name, field, text)
        return _told(desk, request, edits, why)
    except TubsideError as wrong:
        typed = {"field": field, "value": text, "why": why, "wrong": told_wrong(wrong)}
        return entry_page(desk, request, typed, 422)


def try_new(desk: Desk, request: Request, form: Form) -> Response:
    """Try a new entry; refused above the form, or its effect told."""
    family, section = request.path_params["family"], request.path_params["section"]
    _check(request)
    source, _ = current(layers_of(desk.library), family)
    typed = {key: form.one(key) for key in form.fields}
    beside = {}
    if section == "causes":
        if remedy := form.one("remedy"):
            beside[f"remedies / {remedy} / clears"] = form.one("clears")
        for row in range(SHOWS_IT):
            if finding := form.one(f"finding{row}"):
                beside[f"findings / {finding} / causes"] = form.one(f"row{row}")
    try:
        edits = edits_of_new(source, section, form.one("id"), typed, beside)
        return _told(desk, request, edits, form.one("why"))
    except TubsideError as wrong:
        return new_page(desk, request, {"typed": typed, "wrong": told_wrong(wrong)}, 422)


def keep(desk: Desk, request: Request, form: Form) -> Response:
    """Keep a change that was tried."""
    family = request.path_params["family"]
    _check(request)
    edits = _edits_in(form.one("edits"))
    layers_of(desk.library).change(family, edits, _signed(desk, request, form.one("why")))
    desk.library.forget_family(family)
    return go(f"/packs/{family}")


def undo(desk: Desk, request: Request, form: Form) -> Response:
    """Take a change back."""
    family = request.path_params["family"]
    _check(request)
    advised = advised_on(desk.store, desk.library, family)
    by = _signed(desk, request, _why(form))
    layers_of(desk.library).undo(family, form.one("change"), by, advised=advised)
    desk.library.forget_family(family)
    return go(f"/packs/{family}")


def settle(desk: Desk, request: Request, form: Form) -> Response:
    """Keep the shop's value against what the pack ships now."""
    family = request.path_params["family"]
    _check(request)
    by = _signed(desk, request, _why(form))
    layers_of(desk.library).settle(family, form.one("change"), by)
    return go(f"/packs/{family}")


def export(desk: Desk, request: Request, _form: Form) -> Response:
    """The shop's changes on a family as one file."""
    family = request.path_params["family"]
    content = layers_of(desk.library).exported(family)
    name = f'attachment; filename="{family}-changes.yaml"'
    headers = {"content-disposition": name}
    return Response(content, media_type="application/yaml", headers=headers)


def take_in(desk: Desk, request: Request, form: Form) -> Response:
    """Take in the changes of a file whole, or not at all."""
    _check(request)
    if form.photo is None:
        msg = "no file was chosen; choose the one that another shop gave out"
        raise LayerError(msg)
    family = layers_of(desk.library).taken_in(form.photo, again=form.one("again") == "yes")
    desk.library.forget_family(family)
    return go(f"/packs/{family}")


def told_wrong(wrong: TubsideError) -> list[str]:
    """What is wrong, a line each: what, and how to mend it."""
    if not isinstance(wrong, FileProblemsError):
        return [str(wrong)]
    return list(dict.fromkeys(f"{it.what}; {it.mend}" for it in wrong.problems))


def _told(desk: Desk, request: Request, edits: Edits, why: str) -> Response:
    """The page that tells what a change does, with the button that keeps it."""
    family = request.path_params["family"]
    layers = layers_of(desk.library)
    tried = layers.tried(family, edits, _signed(desk, request, why))
    effect_told, _ = effect_of(layers, tried, family)
    values = {
        "family": family,
        "title": tried.source.pack.title,
        "edits": [_edit_told(layers.source(family), edit) for edit in edits],
        "as_json": json.dumps([[told(target), value] for target, value in edits]),
        "why": why,
        "warnings": [str(it.what) for it in tried.warnings],
        "effect": effect_told,
    }
    return desk.render(request, "pack_effect.html", values, 200)


def effect_of(
    layers: ShopLayers, tried: Tried, family: str, seconds: float = float("inf")
) -> tuple[Effect, int]:
    """First steps and costs of typical calls, by the pack as it is used and by the changed one.

    As many as there is time for, one at least, the commonest first; and how many are left. What
    was worked out is kept, so that asking again goes on.
    """
    shipped = _compiled(layers.shipped(family))
    before = shipped if not layers.read(family).changes else _compiled(layers.source(family))
    after = _compiled(tried.source)
    calls = typical_calls(shipped[1])
    until, done = monotonic() + seconds, 0
    while done < len(calls) and (done == 0 or monotonic() < until):
        for pack, model in (before, after):
            _kept_outset(pack, model, calls[done])
        done += 1
    return effect(before, after, calls[:done], _kept_outset), len(calls) - done


def _compiled(source: PackSource) -> tuple[Pack, FaultModel]:
    return source.pack, with_predictions(compile_pack(source.pack, source.digest))


def _kept_outset(pack: Pack, model: FaultModel, call: TypicalCall) -> Outset:
    """The outset of a call, kept by the hash of the pack: the next change asks for it again."""
    key = (model.digest, call)
    if key not in _OUTSETS:
        while len(_OUTSETS) >= KEPT_OUTSETS:
            _OUTSETS.pop(next(iter(_OUTSETS)), None)
        _OUTSETS[key] = outset(pack, model, call)
    return _OUTSETS[key]


def _edit_told(source: PackSource, edit: tuple[tuple[str, ...], object]) -> tuple[str, str, str]:
    """Place, old and new value, in words."""
    target, value = edit
    was = value_at(source.document.tree, target)
    words = ["nothing" if it is None else value_text(it) for it in (was, cast("str", value))]
    return told(target), words[0], words[1]


def _edits_in(text: str) -> Edits:
    """The changes that the confirming form carries; they are tried again before they are kept."""
    try:
        data = json.loads(text[:LONGEST_EDITS])
        return [(target_of(place), value) for place, value in data]
    except (ValueError, TypeError, AttributeError):
        msg = "the form did not carry the change whole; go back and try again"
        raise LayerError(msg) from None


def _check(request: Request) -> None:
    session = session_in(request)
    check_office(None if session is None else session.user, "change what a pack says")


def _why(form: Form) -> str:
    """The reason that came with a form; without one LayerError."""
    why = form.one("why").strip()
    if not why:
        msg = "no reason was given; go back and write in a few words why"
        raise LayerError(msg)
    return why


def _signed(desk: Desk, request: Request, why: str) -> Signed:
    session = session_in(request)
    who = "the shop" if session is None else session.user.name
    return Signed(who=who, when=desk.clock(), why=why)
