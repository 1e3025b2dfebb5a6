"""The models that are known: listed, looked at, practised, given out and taken in."""

from __future__ import annotations

from collections.abc import Mapping
from random import Random

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import ArchiveError, ModelError
from tubside.pack.schema import Pack
from tubside.panel.archive import unpacked
from tubside.panel.drawing import indication_svg
from tubside.panel.schema import Panel
from tubside.panel.told_apart import ToldApart, told_apart
from tubside.panel.wording import in_short
from tubside.service.knowledge import models
from tubside.service.model_drafts import Drafts
from tubside.service.moving.showing import meaning
from tubside.service.panel_photo import shrunk
from tubside.service.shop_models import ShopModels
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.meanings_shown import shown
from tubside.web.pages.moving import files_of, overviews_of

MOST_PAIRS = 12
SURE_WORDS = {"sure": "sure", "likely": "likely", "unsure": "not sure"}
FROM_WORDS = {
    "seen": "seen by ourselves",
    "published": "service sheet",
    "hearsay": "hearsay",
    "from-memory": "from memory",
    "common-practice": "common practice",
    "invented": "invented",
}


def shop_of(desk: Desk) -> ShopModels:
    """The shop's own models.

    Raises
    ------
    ModelError
        When this app was given no folder for them.
    """
    if desk.library.shop is None:
        msg = "no folder for models is known here; serve the pages with --data FOLDER"
        raise ModelError(msg)
    return ShopModels(desk.library.shop, desk.library.packs, desk.library.layers)


def drafts_of(desk: Desk) -> Drafts:
    """The drafts of models, in a folder of their own."""
    return Drafts(shop_of(desk).folder / "drafts")


def listed(desk: Desk, request: Request, _form: Form) -> Response:
    """The shop's own models, those that came with the program, and the drafts."""
    shop = shop_of(desk)
    shipped = models(desk.library.packs)
    known = [(name, desk.library.model(name)) for name in desk.library.models()]
    values = {
        "own": [(name, it) for name, it in known if name not in shipped],
        "shipped": [(name, it) for name, it in known if name in shipped],
        "drafts": drafts_of(desk).all(),
        "problems": shop.problems(),
        "meant": shown(desk),
        "sure": list(SURE_WORDS.items()),
    }
    return desk.render(request, "models.html", values, 200)


def one(desk: Desk, request: Request, _form: Form) -> Response:
    """One model: each indication played, and how well they are told apart."""
    name = request.path_params["model"]
    known = desk.library.model(name)
    assert known.panel is not None
    own = name not in models(desk.library.packs)
    values = {"name": name, "own": own, **looks(known.panel, known.pack)}
    photo = own and shop_of(desk).photo(name) is not None
    values["files"] = [files_of(name, it, photo=photo) for it in known.panel.indications]
    values["overviews"] = overviews_of(name)
    return desk.render(request, "model.html", values, 200)


def looks(panel: Panel, pack: Pack) -> dict[str, object]:
    """What the pages of a model show of its panel."""
    pairs = told_apart(panel)
    hard = [told for told in pairs if told.hard]
    return {
        "panel": panel,
        "family": pack.title,
        "shown": [_shown(panel, pack, name) for name in panel.indications],
        "hard": [_pair(panel, pack, told) for told in hard],
        "pairs": [_pair(panel, pack, told) for told in pairs[len(hard) :][:MOST_PAIRS]],
        "left": max(len(pairs) - len(hard) - MOST_PAIRS, 0),
    }


def _shown(panel: Panel, pack: Pack, name: str) -> Mapping[str, object]:
    shown = panel.indications[name]
    source = panel.sources[shown.source]
    return {
        "picture": Markup(indication_svg(panel, name, alone=False)),  # noqa: S704  # our own drawing
        "means": meaning(panel, pack, name),
        "short": in_short(panel, panel.lights(name)),
        "display": shown.display,
        "sure": SURE_WORDS[shown.sure],
        "source": f"{FROM_WORDS[source.kind]}: {source.text}",
        "note": shown.note,
    }


def _pair(panel: Panel, pack: Pack, told: ToldApart) -> Mapping[str, object]:
    return {
        "first": meaning(panel, pack, told.first),
        "second": meaning(panel, pack, told.second),
        "looks": [in_short(panel, panel.lights(name)) for name in (told.first, told.second)],
        "chance": told.chance,
        "after": told.after,
        "question": told.question.words,
        "exact": told.exact,
    }


def export(desk: Desk, request: Request, _form: Form) -> Response:
    """One of the shop's models as a single file."""
    name = request.path_params["model"]
    content = shop_of(desk).exported(name)
    headers = {"content-disposition": f'attachment; filename="{name}.zip"'}
    return Response(content, media_type="application/zip", headers=headers)


def take_in(desk: Desk, _request: Request, form: Form) -> Response:
    """Take in a model that was given out, whole or not at all."""
    if form.photo is None:
        msg = "choose the file of a model first"
        raise ArchiveError(msg)
    archive = unpacked(form.photo)
    photo = None if archive.photo is None else shrunk(archive.photo)
    name = shop_of(desk).taken_in(archive, photo)
    desk.library.forget(name)
    return go(f"/models/{name}")


def practise(desk: Desk, request: Request, form: Form) -> Response:
    """Which one is this? One indication played, and its meaning to be picked."""
    name = request.path_params["model"]
    known = desk.library.model(name)
    panel, pack = known.panel, known.pack
    assert panel is not None
    turn = _whole(form.one("turn") or request.query_params.get("turn", "0"))
    right = _whole(form.one("right"))
    asked = Random(f"{name} {turn}").choice(list(panel.indications))  # noqa: S311  # a game
    answer = form.one("answer")
    told = answer in panel.indications
    values = {
        "name": name,
        "panel": panel,
        "turn": turn,
        "right": right + (told and answer == asked),
        "told": told,
        "was_right": answer == asked,
        "asked": meaning(panel, pack, asked),
        "picture": Markup(indication_svg(panel, asked, alone=False)),  # noqa: S704  # our own drawing
        "choices": [(it, meaning(panel, pack, it)) for it in panel.indications],
    }
    return desk.render(request, "model_practise.html", values, 200)


def _whole(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 7 else 0
