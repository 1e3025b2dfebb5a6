"""A machine never seen before by its forms, without a script, and what is refused."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import httpx
import pytest
from starlette.types import ASGIApp

from tubside.service.data_folder import models_folder, open_data
from tubside.service.library import Library
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding
from unscripted import asked


@dataclass(frozen=True)
class Browser:
    """A browser without scripts, straight at the app."""

    app: ASGIApp

    def get(self, path: str) -> httpx.Response:
        """Open a page."""
        return asked(self.app, "GET", path)

    def post(self, path: str, **data: str) -> httpx.Response:
        """Send a form and follow where it leads."""
        return self.form(path, data)

    def form(self, path: str, data: Mapping[str, str]) -> httpx.Response:
        """Send a form whose fields are no names of Python."""
        return asked(self.app, "POST", path, data)


def clock() -> datetime:
    """A morning."""
    return datetime(2026, 3, 2, 9, tzinfo=UTC)


@pytest.fixture
def client(tmp_path: Path) -> Iterator[Browser]:
    """An empty shop."""
    store, library = open_data(tmp_path, clock), Library(shop=models_folder(tmp_path))
    yield Browser(create_app(Guarding(frozenset({"testserver"})), store, library, clock))
    store.close()


def call(client: Browser) -> str:
    """The address of a new job."""
    return str(client.post("/call", danger="none").url.path).removesuffix("/machine")


def test_not_sure_keeps_the_job_going(client: Browser) -> None:
    """Tests that a job with no family is asked again, may be sketched, and stops for a danger."""
    job = call(client)
    page = client.post(f"{job}/kind", does="not-sure", opening="not-sure", plate="Kestrel")
    assert str(page.url.path) == f"{job}/machine"
    assert "Not settled yet" in page.text
    assert 'value="KESTREL"' in page.text
    drawn = client.form(f"{job}/sketch", {"lamps": "2", "layout": "row", "lamp.2": "flashing"})
    assert "Does it look like this?" in drawn.text
    assert str(client.get(job).url.path) == f"{job}/machine"
    assert "Stop" in client.post(f"{job}/danger", danger="shock").text


def test_a_known_name_is_that_model(client: Browser) -> None:
    """Tests that a plate whose model has been taught leads to its panel."""
    job = call(client)
    page = client.post(f"{job}/kind", does="washes", opening="front", plate="brackwater wren")
    assert "tap the lamps" in page.text
    assert "Brackwater Wren" in page.text


def test_words_beside_lamps_are_beside_the_facts(client: Browser) -> None:
    """Tests that a label is drawn, and that hostile words come out as words."""
    job = call(client)
    client.post(f"{job}/kind", does="dries")
    told = {"lamps": "1", "layout": "row", "lamp.1": "steady", "label.1": "<b>&"}
    page = client.form(f"{job}/sketch", told).text
    assert "&lt;b&gt;&amp;" in page
    assert "<b>&" not in page


@pytest.mark.parametrize(
    ("path", "data"),
    [
        ("kind", {"does": "irons"}),
        ("kind", {"does": "washes", "plate": "洗"}),
        ("sketch", {"lamps": "13", "layout": "row"}),
        ("sketch", {"lamps": "0099", "layout": "row"}),
        ("sketch", {"lamps": "2", "layout": "heap"}),
        ("sketch", {"lamps": "1", "layout": "row", "lamp.1": "Ada Finch"}),
        ("sketch", {"lamps": "1", "layout": "row", "sound": "barking"}),
        ("teach", {}),
    ],
)
def test_what_is_refused(client: Browser, path: str, data: dict[str, str]) -> None:
    """Tests that a form sent wrong says how to mend it and keeps nothing."""
    job = call(client)
    answer = client.form(f"{job}/{path}", data)
    assert answer.status_code == 422
    assert "Traceback" not in answer.text


def test_a_serial_number_is_kept_as_a_code(client: Browser) -> None:
    """Tests that it goes with the machine, stays when told alone, and comes back on its page."""
    job = call(client)
    client.form(f"{job}/machine", {"machine": "family:dryer", "serial": " b 0042/ab7 "})
    assert 'name="serial" value="B-0042-AB7"' in client.get(f"{job}/machine").text
    client.form(f"{job}/machine", {"machine": "serial", "serial": "c 9"})
    assert 'name="serial" value="C-9"' in client.get(f"{job}/machine").text
    assert client.form(f"{job}/machine", {"machine": "serial", "serial": ""}).status_code == 422


def test_how_many_lamps_is_asked_within_reason(client: Browser) -> None:
    """Tests that a number from the address is no way to have thousands of lamps drawn."""
    job = call(client)
    for lamps in ("13", "0099", "9" * 50, "-1", "x"):
        page = client.get(f"{job}/sketch?lamps={lamps}&layout=ring").text
        assert "How many lamps?" in page
    page = client.get(f"{job}/sketch?lamps=7&layout=ring&display=yes").text
    assert len(re.findall(r'<select name="lamp\.', page)) == 7
    assert "What stands on the display" in page


def test_a_meaning_no_longer_proposed(client: Browser) -> None:
    """Tests that accepting what is not proposed is told plainly."""
    answer = client.post("/models/meanings", key="0" * 24, do="accept", sure="sure")
    assert answer.status_code == 404
