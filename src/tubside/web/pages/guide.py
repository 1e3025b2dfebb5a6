"""The guide for customers as it would be built now, each of its files made when it is asked for."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import NotThereError
from tubside.guide.building import file_named, front_of
from tubside.web.pages.desk import Desk, Form, go

START = "/guide/index.html"
KINDS = {
    "html": "text/html",
    "css": "text/css",
    "js": "text/javascript",
    "svg": "image/svg+xml",
    "jpg": "image/jpeg",
}


def start(_desk: Desk, _request: Request, _form: Form) -> Response:
    """The first page."""
    return go(START)


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """One file."""
    name = request.path_params["name"]
    content = file_named(desk.library, front_of(desk.store), name)
    if content is None:
        msg = f"the guide has no page {name!a:.60}; begin with its first one"
        raise NotThereError(msg)
    return Response(content, media_type=KINDS[name.rpartition(".")[2]])
