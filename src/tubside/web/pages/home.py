"""The jobs at hand, and those that are closed."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tubside.service import jobs
from tubside.web.pages.desk import Desk, Form

A_PAGE = 50


def at_hand(desk: Desk, request: Request, _form: Form) -> Response:
    """Open jobs, the latest fact first; ``?closed=1`` shows the closed ones."""
    closed = request.query_params.get("closed") == "1"
    after = request.query_params.get("after")
    lines = jobs.job_lines(desk.store, desk.library, A_PAGE, after, closed=closed)
    more = lines[-1].id if len(lines) == A_PAGE else None
    values = {"lines": lines, "closed": closed, "more": more}
    return desk.render(request, "jobs.html", values, 200)
