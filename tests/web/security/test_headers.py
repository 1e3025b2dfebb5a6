"""Tests of the headers that go with every answer."""

from __future__ import annotations

from starlette.responses import PlainTextResponse

from asking import Asked, ask
from tubside.web.security.headers import CONTENT_POLICY, FIXED, SafeHeaders


def test_every_answer_carries_them() -> None:
    """Tests that a page, and a page that says otherwise, carries the fixed headers once."""
    page = PlainTextResponse("hello", headers={"content-security-policy": "default-src *"})
    answer = ask(SafeHeaders(page), Asked())
    assert {name: answer.headers[name] for name in FIXED} == FIXED
    assert answer.headers["cache-control"] == "no-store"


def test_a_page_may_be_kept_when_it_says_so() -> None:
    """Tests that a page's own word on caching stays."""
    page = PlainTextResponse("hello", headers={"cache-control": "public, max-age=60"})
    assert ask(SafeHeaders(page), Asked()).headers["cache-control"] == "public, max-age=60"


def test_the_policy_lets_nothing_in() -> None:
    """Tests that the policy starts from nothing and names no source but our own."""
    parts = dict(part.split(" ", 1) for part in CONTENT_POLICY.split("; "))
    assert parts["default-src"] == "'none'"
    assert {"script-src", "style-src", "form-action", "frame-ancestors", "base-uri"} <= set(parts)
    assert set(parts.values()) == {"'none'", "'self'"}
