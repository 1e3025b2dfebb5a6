"""Tests that nobody comes in without a login, and of the way in and out."""

from __future__ import annotations

from collections.abc import Mapping
from http.cookies import SimpleCookie
from urllib.parse import urlencode

import pytest
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from asking import CHEAP, PASSWORD, Answer, Asked, Clock, add_accounts, ask
from tubside.service import logins
from tubside.store.opening import Store
from tubside.web.security.guarding import Guarding, guard
from tubside.web.security.login_page import LoginPages, session_in
from tubside.web.security.public import PUBLIC, is_open, next_page

LAN = Guarding(frozenset({"192.168.1.20"}), always_login=True)
HOST = b"192.168.1.20:8321"
PATHS = ["/", "/call", "/jobs/7", "/jobs/7/photos/1", "/logins", "/login/", "/static/", "/static"]


def render(request: Request, template: str, values: Mapping[str, object], status: int) -> Response:
    """Render a page as plain data."""
    del request
    return JSONResponse({"template": template, **{k: str(v) for k, v in values.items()}}, status)


async def page(request: Request) -> Response:
    """Answer with who asks."""
    session = session_in(request)
    return PlainTextResponse(session.user.name if session else "nobody")


class Shop:
    """The guarded app and a browser that keeps its cookie."""

    def __init__(self, store: Store, clock: Clock, guarding: Guarding = LAN) -> None:
        pages = LoginPages(store, clock, render, CHEAP)
        routes = [*pages.routes(), Route("/{any:path}", page, methods=["GET", "POST"])]
        self.app = guard(Starlette(routes=routes), guarding, store, clock)
        self.scheme = "https" if guarding is LAN else "http"
        self.host = HOST if guarding is LAN else b"127.0.0.1:8321"
        self.cookie = ""

    def get(self, path: str, **headers: str) -> Answer:
        """Open a page."""
        return self._ask("GET", path, {}, headers)

    def post(self, path: str, fields: Mapping[str, str] | None = None, **headers: str) -> Answer:
        """Send a form."""
        return self._ask("POST", path, fields or {}, headers)

    def log_in(self, name: str = "edith", password: str = PASSWORD, wanted: str = "/") -> Answer:
        """Send the login and keep the cookie."""
        answer = self.post("/login", {"name": name, "password": password, "next": wanted})
        for key, morsel in SimpleCookie(answer.headers.get("set-cookie", "")).items():
            self.cookie = f"{key}={morsel.value}"
        return answer

    def _ask(
        self, method: str, path: str, fields: Mapping[str, str], headers: Mapping[str, str]
    ) -> Answer:
        sent = {
            "sec-fetch-site": "same-origin",
            "content-type": "application/x-www-form-urlencoded",
            "cookie": self.cookie,
            **{name.replace("_", "-"): value for name, value in headers.items()},
        }
        path, _, query = path.partition("?")
        return ask(
            self.app,
            Asked(
                method,
                path,
                query.encode(),
                [(name.encode(), value.encode()) for name, value in sent.items()],
                [urlencode(fields).encode()],
                self.scheme,
                self.host,
            ),
        )


@pytest.fixture
def shop(login_store: Store, clock: Clock) -> Shop:
    """Return a shop on the local network."""
    return Shop(login_store, clock)


def test_what_is_public() -> None:
    """Tests that the list of public pages is what it is, and opens nothing beside it."""
    assert {pattern.split("/")[1] for pattern in PUBLIC} == {"calendar", "check", "quote"}
    assert is_open("/quote/abc.DEF-1")
    for path in ("/quote/", "/quote/a/b", "/quotes/abc", "/quote/a%2fb", "/jobs/quote/abc"):
        assert not is_open(path)


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize("method", ["GET", "POST", "HEAD", "PUT", "BREW"])
def test_every_page_wants_a_login(shop: Shop, method: str, path: str) -> None:
    """Tests that whatever is asked for, nobody gets in."""
    answer = shop._ask(method, path, {}, {})
    assert answer.status == 401
    assert answer.headers["x-frame-options"] == "DENY"


@pytest.mark.parametrize("path", PATHS)
def test_a_browser_is_shown_the_way(shop: Shop, path: str) -> None:
    """Tests that who opens a page is sent to the login, and back after it."""
    answer = shop.get(path, accept="text/html")
    assert answer.status == 303
    assert answer.headers["location"].startswith("/login?next=%2F")


@pytest.mark.parametrize("always", [True, False])
def test_without_accounts(empty_store: Store, clock: Clock, *, always: bool) -> None:
    """Tests that with no account all is open on this machine, and nothing on a network."""
    guarding = Guarding(always_login=always)
    shop = Shop(empty_store, clock, guarding)
    assert shop.get("/jobs/7").status == (401 if always else 200)
    add_accounts(empty_store)
    assert shop.get("/jobs/7").status == 401


def test_in_and_out(shop: Shop) -> None:
    """Tests that a login opens the wanted page and a logout closes it, in the store too."""
    assert shop.log_in(wanted="/jobs/7?line=1").headers["location"] == "/jobs/7?line=1"
    assert shop.get("/jobs/7").body == b"edith"
    kept = shop.cookie
    answer = shop.post("/logout")
    assert answer.headers["location"] == "/login"
    assert "Max-Age=0" in answer.headers["set-cookie"]
    shop.cookie = kept
    assert shop.get("/jobs/7").status == 401


def test_the_cookie_on_a_network(shop: Shop) -> None:
    """Tests that over https the cookie is bound to the host and hidden from scripts."""
    set_cookie = shop.log_in().headers["set-cookie"]
    parts = {part.strip().partition("=")[0] for part in set_cookie.split(";")}
    assert parts == {"__Host-tubside", "HttpOnly", "Max-Age", "Path", "SameSite", "Secure"}
    assert "Path=/;" in set_cookie
    assert "SameSite=lax" in set_cookie


def test_the_cookie_on_this_machine(login_store: Store, clock: Clock) -> None:
    """Tests that plain http on 127.0.0.1 works with a cookie that needs no https."""
    shop = Shop(login_store, clock, Guarding())
    assert "Secure" not in shop.log_in().headers["set-cookie"]
    assert shop.get("/").body == b"edith"


def test_the_cookie_of_the_other_scheme_opens_nothing(shop: Shop) -> None:
    """Tests that a cookie that a plain-http page could have set is not taken over https."""
    shop.log_in()
    shop.cookie = shop.cookie.removeprefix("__Host-")
    assert shop.get("/").status == 401


def test_two_tokens_open_nothing(shop: Shop) -> None:
    """Tests that a second cookie of the same name is not chosen from."""
    shop.log_in()
    shop.cookie += f"; __Host-tubside={'x' * 43}"
    assert shop.get("/").status == 401


@pytest.mark.parametrize(
    "wanted",
    ["//elsewhere.example", "https://elsewhere.example", "/\\elsewhere.example", "", "jobs",
     "/a\r\nset-cookie: b=c", "/%0d%0a\x00", "/ä", "/" + "a" * 600],
)  # fmt: skip
def test_the_login_leads_to_our_own_pages(shop: Shop, wanted: str) -> None:
    """Tests that nobody is led elsewhere after the login."""
    assert shop.log_in(wanted=wanted).headers["location"] == "/"
    assert next_page(wanted) == "/"


def test_a_wrong_password(shop: Shop) -> None:
    """Tests that it gives no session, and keeps where one wanted to go."""
    answer = shop.log_in(password="not the right words", wanted="/jobs/7")  # noqa: S106  # invented
    assert answer.status == 403
    assert "set-cookie" not in answer.headers
    assert b"/jobs/7" in answer.body


def test_tries_run_out(shop: Shop, clock: Clock) -> None:
    """Tests that the sixth try is told to wait, and that waiting helps."""
    for _ in range(5):
        assert shop.log_in(password="not the right words").status == 403  # noqa: S106
    answer = shop.log_in()
    assert answer.status == 429
    clock.on(seconds=int(answer.headers["retry-after"]))
    assert shop.log_in().status == 303


def test_a_foreign_page_cannot_log_in(shop: Shop) -> None:
    """Tests that a login sent by another site is refused before it is read."""
    fields = {"name": "edith", "password": PASSWORD}
    assert shop.post("/login", fields, sec_fetch_site="cross-site").status == 403
    assert shop.log_in().status == 303
    assert shop.post("/jobs/7", sec_fetch_site="cross-site").status == 403


def test_sessions_are_listed_and_ended(shop: Shop, login_store: Store, clock: Clock) -> None:
    """Tests that one's sessions are listed, that another one's cannot be ended, one's own can."""
    shop.log_in("desk")
    desk = shop.cookie
    shop.log_in("edith")
    listed = logins.sessions(login_store, clock.now)
    ids = {session.user.name: session.id for session in listed}
    text = shop.get("/logins").body.decode()
    assert ids["edith"] in text
    assert f"id='{ids['desk']}'" not in text
    assert shop.post("/logins/end", {"session": ids["desk"]}).status == 404
    assert shop.post("/logins/end", {"session": ids["edith"]}).status == 303
    assert shop.get("/").status == 401
    shop.cookie = desk
    assert shop.get("/").body == b"desk"


def test_who_is_in_needs_no_login(shop: Shop) -> None:
    """Tests that the login page leads on who has a session."""
    assert shop.get("/login").status == 200
    shop.log_in()
    assert shop.get("/login?next=/jobs/7").headers["location"] == "/jobs/7"


def test_a_session_ends_with_time(shop: Shop, clock: Clock) -> None:
    """Tests that a cookie kept too long opens nothing."""
    shop.log_in()
    clock.on(days=8)
    assert shop.get("/").status == 401


@pytest.mark.parametrize(
    ("path", "opened"),
    [
        ("/login", True),
        ("/static/tubside.css", True),
        ("/static/logo.svg", True),
        ("/static/../jobs/7", False),
        ("/static/a/b.css", False),
        ("/static/data.json", False),
        ("/static/tubside.js", True),
        ("/static/.css", False),
        ("/static/a.b.css", False),
        ("/jobs/7.css", False),
        ("/login\n", False),
        ("/LOGIN", False),
    ],
)
def test_what_is_open(path: str, *, opened: bool) -> None:
    """Tests that only the login and its style and pictures are open."""
    assert is_open(path) is opened
