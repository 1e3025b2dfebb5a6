"""Tests of how much may be sent."""

from __future__ import annotations

import re

import pytest
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import Receive, Scope, Send

from asking import Asked, ask
from tubside.web.security.limits import BodyLimits, Limited

LIMITS = BodyLimits(form=100, wider={re.compile(r"/jobs/\w+/photos"): 1000}, seconds=0.05)


async def size(request: Request) -> Response:
    """Answer with the size of the body."""
    return PlainTextResponse(str(len(await request.body())))


async def bare(scope: Scope, receive: Receive, send: Send) -> None:
    """Read a body as an app would that knows nothing of Starlette's errors."""
    await PlainTextResponse(str(len(await Request(scope, receive).body())))(scope, receive, send)


APPS = {
    "starlette": Limited(Starlette(routes=[Route("/{any:path}", size, methods=["POST"])]), LIMITS),
    "bare": Limited(bare, LIMITS),
}
every_app = pytest.mark.parametrize("app", APPS.values(), ids=APPS)


def post(path: str, *chunks: bytes, **headers: str) -> Asked:
    """Return a post in these chunks."""
    sent = [(k.replace("_", "-").encode(), v.encode()) for k, v in headers.items()]
    return Asked("POST", path, headers=sent, chunks=chunks)


@every_app
def test_a_body_within_the_limit_arrives(app: Limited) -> None:
    """Tests that exactly the limit is taken, in one piece or in many."""
    assert ask(app, post("/call", b"x" * 100)).body == b"100"
    assert ask(app, post("/call", *[b"x" * 10] * 10)).body == b"100"


@every_app
def test_a_body_over_the_limit_is_refused(app: Limited) -> None:
    """Tests that a byte more is refused, declared or not."""
    assert ask(app, post("/call", b"", content_length="101")).status == 413
    assert ask(app, post("/call", b"x" * 60, b"x" * 41)).status == 413
    assert ask(app, post("/call", b"x" * 101, content_length="10")).status == 413


@every_app
def test_uploads_have_their_own_limit(app: Limited) -> None:
    """Tests that a wider limit counts for the whole path only."""
    assert ask(app, post("/jobs/7/photos", b"x" * 1000)).body == b"1000"
    assert ask(app, post("/jobs/7/photos", b"x" * 1001)).status == 413
    assert ask(app, post("/jobs/7/photos/more", b"x" * 101)).status == 413


@every_app
def test_a_body_that_never_ends_is_given_up(app: Limited) -> None:
    """Tests that who sends nothing for too long is told so."""
    asked = Asked("POST", "/call", chunks=[b"x"], whole=False)
    assert ask(app, asked).status == 408


@pytest.mark.parametrize("length", ["-1", "1e3", "abc", "", "\u00b2", "1, 1"])
def test_a_length_that_is_no_number(length: str) -> None:
    """Tests that a malformed Content-Length is refused."""
    headers = [(b"content-length", length.encode())]
    assert ask(APPS["bare"], Asked("POST", headers=headers)).status == 400


def test_a_length_too_long_to_read() -> None:
    """Tests that a length of a thousand figures is too large, not an error."""
    assert ask(APPS["bare"], post("/", b"", content_length="9" * 1000)).status == 413


@pytest.mark.parametrize("path", ["/a\x00b", "/\n", "/\x7f", "/\ud800"])
def test_paths_with_control_characters(path: str) -> None:
    """Tests that such a path goes no further."""
    assert ask(APPS["bare"], Asked(path=path)).status == 400


def test_queries_are_ascii() -> None:
    """Tests that bytes that no address has are refused, and escaped ones go through."""
    assert ask(APPS["bare"], Asked(query=b"next=\xc3\xa4")).status == 400
    assert ask(APPS["bare"], Asked(query=b"next=%C3%A4")).status == 200


def test_addresses_have_a_length() -> None:
    """Tests that path and query together are limited."""
    assert ask(APPS["bare"], Asked(path="/" + "a" * 2047)).status == 200
    assert ask(APPS["bare"], Asked(path="/" + "a" * 2000, query=b"b" * 48)).status == 414
