"""Tests that answers are packed where that tells nobody anything, and come out as they were."""

from __future__ import annotations

import gzip

import pytest
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.types import ASGIApp

from asking import Answer, Asked, ask
from tubside.web.packing import LEAST, Packing, packed_file
from tubside.web.pages.rendering import STATIC, static_file

GZIP = (b"accept-encoding", b"br, gzip")
LONG = "the pump hums " * 200


def answer(page: ASGIApp, site: str = "", scheme: str = "http", *, takes: bool = True) -> Answer:
    """The answer of a page behind the middleware, to who is at ``site``."""
    sent = [(b"sec-fetch-site", site.encode())] if site else []
    return ask(Packing(page), Asked(headers=[*sent, *([GZIP] if takes else [])], scheme=scheme))


@pytest.mark.parametrize("page", [PlainTextResponse(LONG), JSONResponse({"said": LONG})])
def test_a_long_answer_is_packed(page: Response) -> None:
    """Tests that what is unpacked is what was sent, and caches keep the two apart."""
    found = answer(page)
    assert found.headers["content-encoding"] == "gzip"
    assert "accept-encoding" in found.headers["vary"].lower()
    assert gzip.decompress(found.body) == page.body
    assert len(found.body) < len(page.body) / 4


def test_what_is_sent_as_it_is() -> None:
    """Tests short answers, pictures, and browsers that take nothing packed."""
    picture = Response(b"x" * 5000, media_type="image/jpeg")
    for found in (
        answer(PlainTextResponse("h" * (LEAST - 1))),
        answer(picture),
        answer(PlainTextResponse(LONG), takes=False),
    ):
        assert "content-encoding" not in found.headers


@pytest.mark.parametrize(
    ("site", "scheme", "packed"),
    [
        ("same-origin", "https", True),
        ("none", "https", True),
        ("cross-site", "https", False),
        ("same-site", "https", False),
        ("", "https", False),
        ("cross-site", "http", True),
    ],
)
def test_what_another_site_asks_for_over_tls(site: str, scheme: str, packed: bool) -> None:
    """Tests that no length tells another site what stands beside its words."""
    found = answer(PlainTextResponse(LONG), site, scheme)
    assert ("content-encoding" in found.headers) is packed


def test_our_files_are_packed_once() -> None:
    """Tests that each of our files comes out as it was, from the same bytes every time."""
    for name in STATIC:
        assert gzip.decompress(packed_file(name)) == static_file(name)
        assert packed_file(name) is packed_file(name)
