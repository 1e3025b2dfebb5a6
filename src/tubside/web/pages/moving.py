"""Files of what a model shows, to send to customers or to print."""

from __future__ import annotations

from functools import lru_cache
from importlib.util import find_spec
from typing import cast
from urllib.parse import quote

import msgspec
from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import NotThereError
from tubside.panel.schema import Panel
from tubside.service.moving.showing import (
    CONTENT_TYPES,
    KINDS,
    Asked,
    Kind,
    overview,
    photo_of,
    shown,
)
from tubside.web.pages.desk import Desk, Form

KEPT = 48
"""Files held in memory, so that one asked for again and again is drawn once."""
WORDS: dict[Kind, str] = {
    "mp4": "Clip with sound",
    "gif": "Moving picture",
    "svg": "Drawing that blinks",
    "png": "Still with circles",
    "pdf": "Still to print",
}
OVERVIEWS: dict[Kind, str] = {"pdf": "All of it to print", "png": "All in one picture"}


def files_of(model: str, indication: str, *, photo: bool = False) -> list[tuple[str, str]]:
    """Address and words of each file of an indication that can be made here."""
    base = f"/models/{quote(model)}/shows/{quote(indication, safe='')}"
    made = [kind for kind in WORDS if kind != "mp4" or find_spec("av") is not None]
    plain = [(f"{base}.{kind}", WORDS[kind]) for kind in made]
    on_photo = [(f"{base}.{kind}?photo=1", f"{WORDS[kind]}, on the photo") for kind in made[:2]]
    return plain + (on_photo if photo else [])


def overviews_of(model: str) -> list[tuple[str, str]]:
    """Address and words of each overview of a model."""
    return [(f"/models/{quote(model)}/all.{kind}", words) for kind, words in OVERVIEWS.items()]


def one(desk: Desk, request: Request, _form: Form) -> Response:
    """One indication as a file."""
    name, indication = request.path_params["model"], request.path_params["indication"]
    panel = desk.library.model(name).panel
    assert panel is not None
    if indication not in panel.indications:
        msg = f"the {panel.name} shows nothing called {indication!a:.60}"
        raise NotThereError(msg)
    photo = photo_of(name, desk.library.shop) if request.query_params.get("photo") else None
    kind = _kind(request)
    made = _made(msgspec.json.encode(panel), indication, kind, photo)
    return _file(made, kind, f"{name}-{indication}")


def whole(desk: Desk, request: Request, _form: Form) -> Response:
    """All that a model shows, at once."""
    name, kind = request.path_params["model"], _kind(request)
    known = desk.library.model(name)
    assert known.panel is not None
    if kind not in OVERVIEWS:
        msg = f"there is no overview of the kind {kind}"
        raise NotThereError(msg)
    return _file(overview(known.panel, known.pack, Asked(kind)), kind, f"{name}-all")


@lru_cache(maxsize=KEPT)
def _made(panel: bytes, indication: str, kind: Kind, photo: bytes | None) -> bytes:
    """A file, by all that it is made from."""
    return shown(msgspec.json.decode(panel, type=Panel), indication, Asked(kind, photo=photo))


def _kind(request: Request) -> Kind:
    kind = request.path_params["kind"]
    if kind not in KINDS:
        msg = f"there is no file of the kind {kind!a:.20}"
        raise NotThereError(msg)
    return cast("Kind", kind)


def _file(made: bytes, kind: Kind, name: str) -> Response:
    """A file to keep: not shown in the page, whose policy would strip a drawing of its style."""
    headers = {
        "content-disposition": f"attachment; filename*=UTF-8''{quote(name, safe='')}.{kind}",
        "cache-control": "private, no-cache",
    }
    return Response(made, media_type=CONTENT_TYPES[kind], headers=headers)
