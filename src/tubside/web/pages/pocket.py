"""What a phone takes along of a job, to reckon on without signal."""

from __future__ import annotations

import msgspec
from starlette.requests import Request
from starlette.responses import Response

from tubside.service.pocket import pocket_of_view
from tubside.web.pages.desk import Desk, Form


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """The pocket of a job as JSON; the app packs it."""
    view = desk.view(request.path_params["job"])
    content = msgspec.json.encode(pocket_of_view(view))
    return Response(content, media_type="application/json")
