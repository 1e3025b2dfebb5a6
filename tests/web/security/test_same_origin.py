"""Tests that forms of other sites are refused."""

from __future__ import annotations

import pytest
from starlette.responses import PlainTextResponse

from asking import Asked, ask
from tubside.web.security.same_origin import SameOriginOnly

APP = SameOriginOnly(PlainTextResponse("done"))
HOST = b"192.168.1.20:8321"


def status(method: str, scheme: str = "https", **headers: str) -> int:
    """Return how a request with these headers is answered (_ in a name is -)."""
    sent = [(k.replace("_", "-").encode(), v.encode()) for k, v in headers.items()]
    return ask(APP, Asked(method, headers=sent, scheme=scheme, host=HOST)).status


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "post", "ANYTHING"])
@pytest.mark.parametrize(
    "site", ["cross-site", "same-site", "", "Same-Origin", "same-origin, none"]
)
def test_what_comes_from_elsewhere_is_refused(method: str, site: str) -> None:
    """Tests that only same-origin and what was typed may change something."""
    assert status(method, sec_fetch_site=site) == 403


@pytest.mark.parametrize("site", ["same-origin", "none"])
def test_our_own_forms_pass(site: str) -> None:
    """Tests that our own form passes, whatever else it says of its origin."""
    assert status("POST", sec_fetch_site=site, origin="null") == 200


@pytest.mark.parametrize(
    ("origin", "answer"),
    [
        ("https://192.168.1.20:8321", 200),
        ("http://192.168.1.20:8321", 403),
        ("https://192.168.1.20", 403),
        ("https://192.168.1.20:8322", 403),
        ("https://192.168.1.20:8321.elsewhere.example", 403),
        ("https://elsewhere.example", 403),
        ("null", 403),
        ("", 403),
    ],
)
def test_an_origin_must_be_ours(origin: str, answer: int) -> None:
    """Tests that without Sec-Fetch-Site the origin must have our scheme, host and port."""
    assert status("POST", origin=origin) == answer


def test_the_scheme_is_ours() -> None:
    """Tests that over plain http the plain origin is ours."""
    assert status("POST", "http", origin="http://192.168.1.20:8321") == 200
    assert status("POST", "http", origin="https://192.168.1.20:8321") == 403


@pytest.mark.parametrize("method", ["GET", "HEAD", "OPTIONS"])
def test_reading_passes(method: str) -> None:
    """Tests that a link from anywhere may open a page."""
    assert status(method, sec_fetch_site="cross-site", origin="https://elsewhere.example") == 200


def test_a_program_without_a_browser_passes() -> None:
    """Tests that a request with neither header is left to the login."""
    assert status("POST") == 200
