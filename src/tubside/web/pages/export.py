"""Data out: all tables, one person's own, and repairs for everybody without anybody."""

from __future__ import annotations

from collections.abc import Iterator

from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from tubside.errors import NotThereError
from tubside.service.exports import KEPT_YEARS, everything, kept_by_law, of_person
from tubside.service.open_repair_data import Provider, table
from tubside.service.roles import check_office
from tubside.web.pages.desk import Desk, Form
from tubside.web.security.login_page import session_in

COUNTRIES = {
    "NZL": "New Zealand",
    "AUS": "Australia",
    "GBR": "United Kingdom",
    "DEU": "Germany",
    "USA": "United States",
}


def _office(request: Request, what: str) -> None:
    session = session_in(request)
    check_office(None if session is None else session.user, what)


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """What can be taken out."""
    _office(request, "take data out")
    return desk.render(request, "export.html", {"countries": COUNTRIES}, 200)


def _sent(pieces: Iterator[bytes], name: str, kind: str) -> Response:
    headers = {"content-disposition": f'attachment; filename="{name}"', "cache-control": "no-store"}
    return StreamingResponse(pieces, media_type=kind, headers=headers)


def tables(desk: Desk, request: Request, _form: Form) -> Response:
    """All tables and photos as one archive, sent while it is made."""
    _office(request, "take all data out")
    now = desk.clock()
    day = now.astimezone().date().isoformat()
    return _sent(everything(desk.store, now), f"tubside-{day}.zip", "application/zip")


def repairs(desk: Desk, request: Request, _form: Form) -> Response:
    """Closed jobs in the fields of the open standard."""
    _office(request, "publish repairs")
    asked = request.query_params
    provider = Provider(asked.get("provider", ""), asked.get("country", ""))
    lines = (line.encode() for line in table(desk.store, desk.library, provider))
    return _sent(lines, "open-repair-data.csv", "text/csv; charset=utf-8")


def person(desk: Desk, request: Request, _form: Form) -> Response:
    """What is held of a job's person, and what stays when they are erased."""
    view = desk.view(request.path_params["job"])
    if view.person is None:
        msg = "nobody is named in this job yet"
        raise NotThereError(msg)
    kept = kept_by_law(desk.store, view.person.ref)
    values = {"view": view, "kept": kept, "years": KEPT_YEARS}
    return desk.render(request, "person_data.html", values, 200)


def person_archive(desk: Desk, request: Request, _form: Form) -> Response:
    """All that is held of a job's person, as one archive."""
    _office(request, "give out what is held of a person")
    view = desk.view(request.path_params["job"])
    if view.person is None:
        msg = "nobody is named in this job yet"
        raise NotThereError(msg)
    pieces = of_person(desk.store, view.person.ref, desk.clock())
    return _sent(pieces, "person.zip", "application/zip")
