"""The report for the customer: as a page to print, and as PDF."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tubside.service.job_report import job_report, shown_photos
from tubside.web.pages.desk import Desk, Form, go


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """The report as a page."""
    view = desk.view(request.path_params["job"])
    if view.known is None:
        return go(f"/jobs/{view.id}/machine")
    report = job_report(desk.store, view, desk.clock().astimezone().date())
    values = {"view": view, "report": report, "photos": shown_photos(view)}
    return desk.render(request, "report.html", values, 200)


def pdf(desk: Desk, request: Request, _form: Form) -> Response:
    """The report as PDF/A."""
    from tubside.documents.work_papers import job_report_pdf  # noqa: PLC0415  # loads the typesetter

    view = desk.view(request.path_params["job"])
    report = job_report(desk.store, view, desk.clock().astimezone().date())
    headers = {"content-disposition": 'inline; filename="report.pdf"', "cache-control": "no-store"}
    return Response(job_report_pdf(report), media_type="application/pdf", headers=headers)
