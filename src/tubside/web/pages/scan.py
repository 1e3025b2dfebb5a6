"""A barcode from a photo into a search for a part, or onto a page to copy."""

from __future__ import annotations

from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import ScanError
from tubside.service.scanning import can_scan, scanned
from tubside.web.pages.desk import Desk, Form, go


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """The form for a photo; the camera itself where the browser reads barcodes."""
    return _page(desk, request, "", "", 200)


def read(desk: Desk, request: Request, form: Form) -> Response:
    """Read the photo and search for the part of that number."""
    if form.photo is None:
        return _page(desk, request, "", "take a photo of the barcode first", 422)
    try:
        text = scanned(form.photo)
    except ScanError as wrong:
        return _page(desk, request, "", str(wrong), 422)
    if form.one("of") == "plate":
        return _page(desk, request, text, "", 200)
    return go(f"/parts?q={quote(text, safe='')}")


def _page(desk: Desk, request: Request, text: str, wrong: str, status: int) -> Response:
    values = {"text": text, "wrong": wrong, "can_scan": can_scan()}
    return desk.render(request, "stock_scan.html", values, status)
