"""The internet sees the public pages alone, at a pace, and nobody is known there."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from starlette.applications import Starlette
from starlette.routing import Route
from starlette.types import ASGIApp

from asking import CHEAP, NOON, PASSWORD, Answer, Asked, Clock, ask
from tubside.service.knocking import Knock, log_in
from tubside.service.library import Library
from tubside.store.opening import Store
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding
from tubside.web.security.outside import SMALL, Outside
from tubside.web.security.pace import Pace, PaceRules
from tubside.web.security.public import PUBLIC, shown_outside

NAME = "quotes.example.org"
LINK = "/quote/abc.DEF-1"
WIDE = PaceRules(one=replace(PaceRules().one, size=10**6), all=replace(PaceRules().all, size=10**6))


def public_app(store: Store, rules: PaceRules | None = None, *, proxied: bool = False) -> ASGIApp:
    """The app as it is served to the internet."""
    outside = Outside(Pace(Clock(), rules), proxied=proxied)
    guarding = Guarding(frozenset({NAME}), SMALL, always_login=True, outside=outside)
    return create_app(guarding, store, Library(), Clock())


def get(app: ASGIApp, path: str, *headers: tuple[bytes, bytes], method: str = "GET") -> Answer:
    """Ask as a browser somewhere on the internet."""
    asked = Asked(method, path, b"", headers, scheme="https", host=NAME.encode(), client="9.9.9.9")
    return ask(app, asked)


@pytest.fixture
def cookie(login_store: Store) -> tuple[bytes, bytes]:
    """The cookie of somebody who is logged in."""
    token = log_in(login_store, Knock("edith", PASSWORD, "10.0.0.4"), NOON, CHEAP)
    return (b"cookie", f"__Host-tubside={token}; tubside={token}".encode())


def routes(app: ASGIApp) -> list[Route]:
    """Every route behind the guards."""
    while not isinstance(app, Starlette):
        app = app.app  # type: ignore[attr-defined]  # each guard holds what it guards
    return [route for route in app.routes if isinstance(route, Route)]


def test_every_other_route_is_not_there(login_store: Store, cookie: tuple[bytes, bytes]) -> None:
    """Tests that each route off the list is answered 404 for every method, login or not."""
    app = public_app(login_store, WIDE)
    paths = {re.sub(r"\{\w+\}", "abcdefgh", route.path) for route in routes(app)}
    hidden = {path for path in paths if not shown_outside(path)}
    assert {"/", "/login", "/logins", "/sync", "/figures", "/export/tables.zip"} <= hidden
    assert len(hidden) >= len(paths) - len(PUBLIC) - 1
    for path in sorted(hidden):
        for method in ("GET", "POST", "HEAD", "PUT", "DELETE", "OPTIONS"):
            answer = get(app, path, cookie, method=method)
            assert (answer.status, "set-cookie" in answer.headers) == (404, False), path
            assert answer.body in {b"There is nothing here.\n", b""}


def test_what_is_on_the_list_is_there(login_store: Store) -> None:
    """Tests that a wrong link gets its own page, and what that page is made of comes too."""
    app = public_app(login_store)
    page = get(app, LINK)
    assert (page.status, b"this link is not right" in page.body.lower()) == (404, True)
    assert b'href="/"' not in page.body
    needed = re.findall(r'(?:href|src)="(/static/[^"]+)"', page.body.decode())
    assert needed
    assert {get(app, path).status for path in needed} == {200}
    assert page.headers["strict-transport-security"].startswith("max-age=")
    assert page.headers["x-frame-options"] == "DENY"
    assert get(app, "/calendar/" + "a" * 32 + ".ics").status == 404
    assert get(app, LINK, method="PUT").status == 404


@pytest.mark.parametrize(
    "path",
    ["/quote/../jobs", "/quote/a/../../figures", "//quote/abc", "/quote/", "/static/../login"],
)
def test_no_way_round(login_store: Store, path: str) -> None:
    """Tests that no spelling of a public path leads elsewhere."""
    answer = get(public_app(login_store), path)
    assert (answer.status, answer.body) == (404, b"There is nothing here.\n")


def test_another_name_is_refused(login_store: Store) -> None:
    """Tests that the public pages answer to their own name alone."""
    app = public_app(login_store)
    assert ask(app, Asked("GET", LINK, host=b"127.0.0.1:8321")).status == 421


def test_too_often_has_to_wait(login_store: Store) -> None:
    """Tests that one sender is slowed down, and another is not."""
    app = public_app(login_store)
    answers = [get(app, LINK) for _ in range(41)]
    assert [answer.status for answer in answers[-2:]] == [404, 429]
    assert answers[-1].headers["retry-after"] == "1"
    other = Asked("GET", LINK, host=NAME.encode(), client="9.9.9.8")
    assert ask(app, other).status == 404


def test_large_things_are_refused(login_store: Store) -> None:
    """Tests that a customer's answer has a few kilobytes, and an address one."""
    app = public_app(login_store)
    form = (b"content-type", b"application/x-www-form-urlencoded")
    sent = Asked("POST", LINK, b"", [form], (b"a=" + b"b" * 9000,), host=NAME.encode())
    assert ask(app, sent).status == 413
    long = Asked("GET", LINK, b"q=" + b"a" * 1100, host=NAME.encode())
    assert ask(app, long).status == 414


def test_behind_a_proxy_its_word_counts(login_store: Store) -> None:
    """Tests that the proxy tells who asks, by the last entry, and that forms come over https."""
    app = public_app(login_store, proxied=True)

    def asked(told: bytes, method: str = "GET") -> int:
        headers = [(b"x-forwarded-for", told), (b"origin", b"https://" + NAME.encode())]
        return ask(app, Asked(method, LINK, b"", headers, host=NAME.encode())).status

    assert asked(b"", "POST") == 409  # taken as ours: the link is wrong, not the sender
    assert [asked(b"1.2.3.4, 9.9.9.9") for _ in range(41)][-1] == 429
    assert asked(b"9.9.9.9, 1.2.3.4") == 404
