"""What a phone takes along of a job, to reckon on without signal."""

from __future__ import annotations

import gzip

import msgspec
from starlette.requests import Request
from starlette.responses import Response

from tubside.service.pocket import pocket_of_view
from tubside.web.pages.desk import Desk, Form

LEVEL = 6


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """The pocket of a job as JSON, compressed where the browser takes it so."""
    view = desk.view(request.path_params["job"])
    content = msgspec.json.encode(pocket_of_view(view))
    headers = {"vary": "accept-encoding"}
    if "gzip" in request.headers.get("accept-encoding", ""):
        content = gzip.compress(content, LEVEL, mtime=0)
        headers["content-encoding"] = "gzip"
    return Response(content, media_type="application/json", headers=headers)
