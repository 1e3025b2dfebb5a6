"""Tests that whatever is sent gets an answer in words, never an error of ours."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp

from asking import CHEAP, NOON, PASSWORD, Asked, Clock, add_accounts, ask, store_without_accounts
from hostile import requests
from tubside.service.knocking import Knock, log_in
from tubside.store.opening import Store
from tubside.web.security.guarding import Guarding, guard
from tubside.web.security.headers import FIXED
from tubside.web.security.login_page import LoginPages

PATHS = ["/", "/login", "/logout", "/logins", "/logins/end", "/static/tubside.css"]
FIELDS = ["name", "password", "next", "session"]


def render(request: Request, template: str, values: Mapping[str, object], status: int) -> Response:
    """Render a page as text."""
    del request, values
    return PlainTextResponse(template, status)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """Return a store with two accounts."""
    opened = store_without_accounts(Path(tmp_path_factory.mktemp("hostile")))
    add_accounts(opened)
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def app(store: Store) -> ASGIApp:
    """Return the guarded pages about logins."""
    pages = LoginPages(store, Clock(), render, CHEAP)
    return guard(Starlette(routes=pages.routes()), Guarding(), store, Clock())


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(asked=requests(PATHS, FIELDS, [(b"sec-fetch-site", b"same-origin")]))
def test_strangers_get_no_error(app: ASGIApp, asked: Asked) -> None:
    """Tests that a stranger gets an answer below 500, with all headers, and no session."""
    answer = ask(app, asked)
    assert answer.status < 500
    assert set(FIXED) <= set(answer.headers)
    assert "set-cookie" not in answer.headers or "Max-Age=0" in answer.headers["set-cookie"]


def test_insiders_get_no_error(app: ASGIApp, store: Store) -> None:
    """Tests that requests with a session are answered below 500 as well."""
    token = log_in(store, Knock("edith", PASSWORD, "10.0.0.3"), NOON, CHEAP)
    headers = [(b"sec-fetch-site", b"same-origin"), (b"cookie", f"tubside={token}".encode())]

    @settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
    @given(asked=requests(PATHS, FIELDS, headers))
    def attack(asked: Asked) -> None:
        assert ask(app, asked).status < 500

    attack()
