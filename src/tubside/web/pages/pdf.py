"""A paper as an answer."""

from __future__ import annotations

from starlette.responses import Response


def pdf_answer(made: bytes, name: str) -> Response:
    """A PDF that opens in the browser and is kept nowhere on the way."""
    headers = {
        "content-disposition": f'inline; filename="{name}.pdf"',
        "cache-control": "no-store",
    }
    return Response(made, media_type="application/pdf", headers=headers)
