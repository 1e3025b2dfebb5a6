"""Tests of the whole app with the demo shop in it: closed to strangers, and never at a loss."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial
from itertools import count
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from starlette.applications import Starlette
from starlette.routing import Route
from starlette.types import ASGIApp

from asking import CHEAP, NOON, PASSWORD, Answer, Asked, Clock, add_accounts, ask
from hostile import posts, requests
from tubside.service import viewing
from tubside.service.advise import advise
from tubside.service.data_folder import open_data
from tubside.service.demo_shop import fill, shop_jobs
from tubside.service.jobs import job_view
from tubside.service.knocking import Knock, log_in
from tubside.service.library import Library
from tubside.store.opening import Store
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding
from tubside.web.security.headers import FIXED
from tubside.web.security.public import LOGIN, PUBLIC, WORKER

TEMPLATES = Path(__file__).parents[3] / "src" / "tubside" / "web" / "templates"
LAN = Guarding(frozenset({"192.168.1.20"}), always_login=True)
HOST = b"192.168.1.20:8321"


@dataclass(frozen=True)
class Shop:
    """The app on a network, what is in it, and the headers of a browser that is logged in."""

    app: ASGIApp
    store: Store
    jobs: list[str]
    headers: list[tuple[bytes, bytes]]
    values: list[str]

    def ask(self, method: str, path: str, headers: list[tuple[bytes, bytes]]) -> Answer:
        """Ask over https."""
        return ask(self.app, Asked(method, path, b"", headers, scheme="https", host=HOST))


def routes(app: ASGIApp) -> list[Route]:
    """Return every route of a guarded app."""
    while not isinstance(app, Starlette):
        app = app.app  # type: ignore[attr-defined]  # each guard holds what it guards
    found = [route for route in app.routes if isinstance(route, Route)]
    assert len(found) == len(app.routes)
    return found


def paths(app: ASGIApp, jobs: list[str]) -> list[str]:
    """Return the path of every route, for some jobs and some made-up names."""
    return [
        re.sub(r"\{\w+\}", "drain-sound", route.path.replace("{job}", job))
        for route in routes(app)
        for job in (jobs if "{job}" in route.path else jobs[:1])
    ]


def spoken(store: Store, library: Library, jobs: list[str]) -> list[str]:
    """Return words that forms may rightly hold: ids of facts and what the pack names."""
    entries = [entry.id for job in jobs for entry in job_view(store, library, job).entries]
    known = library.model("brackwater-wren")
    pages = "".join(path.read_text(encoding="utf-8") for path in TEMPLATES.glob("*.html"))
    return [
        *entries[:20],
        *known.model.names.causes[:20],
        *known.model.names.conditions,
        *known.model.names.checks[:20],
        *[
            "none",
            "hums",
            "whirrs",
            "object",
            "electric",
            "good",
            "blocked",
            "clear",
            "bad",
            "wet",
            "dry",
            "weak",
            "strong",
        ],
        *re.findall(r'value="([\w -]+)"', pages),
        *["yes", "no", "works", "shock", "customer", "1", "-1", "6", "2026-01-01", "12:30", "4.5"],
        *["model:brackwater-wren", "family:front_load", "aldermoor-tern", "steady", "flashing"],
    ]


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """Return the app over some jobs of the demo shop: a closed one, a danger, a panel."""
    library, numbers, all_jobs = Library(), count(1), shop_jobs()
    store = open_data(Path(tmp_path_factory.mktemp("shop")), Clock())
    add_accounts(store)
    token = log_in(store, Knock("edith", PASSWORD, "10.0.0.4"), NOON, CHEAP)
    headers = [
        (b"sec-fetch-site", b"same-origin"),
        (b"cookie", f"__Host-tubside={token}".encode()),
    ]
    some = [all_jobs[0], all_jobs[-2], all_jobs[-3]]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(viewing, "advise", partial(advise, size=60))
        jobs = fill(store, library, NOON, lambda: f"shop-{next(numbers):05}", some)
        app = create_app(LAN, store, library, Clock())
        yield Shop(app, store, jobs, headers, spoken(store, library, jobs))
    store.close()


def fields() -> list[str]:
    """Return the name of every field of every form."""
    pages = "".join(path.read_text(encoding="utf-8") for path in TEMPLATES.glob("*.html"))
    return sorted(set(re.findall(r'name="([\w-]+)"', pages)))


def test_every_page_is_closed_to_strangers(shop: Shop) -> None:
    """Tests that on a network every route but the login is refused to whoever has no session."""
    opened = set()
    strange = [(b"sec-fetch-site", b"same-origin"), (b"cookie", b"__Host-tubside=abc")]
    for path in paths(shop.app, shop.jobs[:1]):
        for method in ("GET", "POST", "HEAD", "PUT", "DELETE", "OPTIONS"):
            answer = shop.ask(method, path, strange)
            if answer.status != 401:
                opened.add(path)
            assert set(FIXED) <= set(answer.headers)
    listed = {path for path in opened if any(re.fullmatch(one, path) for one in PUBLIC)}
    assert opened - listed == {LOGIN, WORKER}
    assert "/quote/drain-sound" in listed


def test_what_the_login_page_needs_is_open(shop: Shop) -> None:
    """Tests that everything the login page links to of our files can be had without a login."""
    needed = re.findall(r'(?:href|src)="(/static/[^"]+)"', shop.ask("GET", LOGIN, []).body.decode())
    assert needed
    assert {shop.ask("GET", path, []).status for path in needed} == {200}


def test_a_login_opens_them(shop: Shop) -> None:
    """Tests that with a session the pages are there, so that the tests above are fair."""
    for path in ("/", "/call", "/logins", *(f"/jobs/{job}" for job in shop.jobs)):
        assert shop.ask("GET", path, shop.headers).status == 200


def test_no_page_holds_style_or_script(shop: Shop) -> None:
    """Tests that nothing is inline, which the policy would refuse."""
    inline = re.compile(r"<style|\sstyle=|\son\w+=|<script(?![^>]*\ssrc=)|javascript:")
    for path in paths(shop.app, shop.jobs):
        page = shop.ask("GET", path, shop.headers).body.decode("utf-8", "replace")
        assert path.startswith("/static") or not inline.search(page), path


def test_hostile_requests_get_an_answer(shop: Shop) -> None:
    """Tests that whatever is sent to whatever page, the answer is below 500."""
    known = [path for path in paths(shop.app, shop.jobs) if path != "/logout"]

    @settings(max_examples=400, deadline=None, suppress_health_check=list(HealthCheck))
    @given(asked=requests(known, fields(), shop.headers, shop.values))
    def attack(asked: Asked) -> None:
        answer = ask(shop.app, replace(asked, scheme="https", host=HOST))
        assert answer.status < 500
        assert set(FIXED) <= set(answer.headers)

    attack()
    assert shop.ask("GET", "/", shop.headers).status == 200


def test_forms_of_insiders_get_an_answer(shop: Shop) -> None:
    """Tests that well-formed forms with odd words in them are kept or told, below 500."""
    forms = [
        re.sub(r"\{\w+\}", "drain-sound", route.path.replace("{job}", job))
        for route in routes(shop.app)
        for job in shop.jobs
        if "POST" in (route.methods or set()) and not route.path.startswith("/log")
    ]

    @settings(max_examples=300, deadline=None, suppress_health_check=list(HealthCheck))
    @given(asked=posts(forms, fields(), shop.headers, shop.values))
    def attack(asked: Asked) -> None:
        assert ask(shop.app, replace(asked, scheme="https", host=HOST)).status < 500

    attack()
    for job in shop.jobs:
        assert shop.ask("GET", f"/jobs/{job}", shop.headers).status == 200
