"""The pages of what jobs say: looked at, taken over, left, pinned, by the office alone."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from itertools import count
from pathlib import Path
from urllib.parse import quote

import pytest

from asking import NOON, Answer, add_accounts
from some_jobs import OFTEN, some_jobs
from tubside.learning.history import ClosedJob
from tubside.service.data_folder import open_data
from tubside.service.learning import remembered
from tubside.service.learning.decisions import decisions
from tubside.service.library import Library
from tubside.service.shop_layer import ShopLayers
from tubside.store.opening import Store
from tubside.web.app import create_app
from tubside.web.pages import learning as pages
from tubside.web.security.guarding import Guarding
from two_logins import Shop

FAMILY = "/learning/front_load"
NAME = f"causes / {OFTEN} / weight"
NUMBER = f"{FAMILY}/number?n={quote(NAME)}"


@pytest.fixture
def layers(tmp_path: Path) -> ShopLayers:
    """The shop's own changes."""
    return ShopLayers(tmp_path / "layers")


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shop]:
    """A shop with an office and a technician, and eighty closed jobs."""

    def rows(_store: Store, _library: Library) -> tuple[ClosedJob, ...]:
        return some_jobs()

    monkeypatch.setattr(remembered, "closed_jobs", rows)
    store = open_data(tmp_path / "data", lambda: NOON)
    add_accounts(store)
    library = Library(None, tmp_path / "models", tmp_path / "layers")
    yield Shop(create_app(Guarding(), store, library, lambda: NOON), store, count(1))
    store.close()


def decide(shop: Shop, token: str, what: str, why: str) -> Answer:
    """Press one of the buttons, with what the form carries."""
    page = shop.ask(NUMBER, token).body.decode()
    seen = re.search(r'name="seen" value="(\w+)"', page)
    assert seen is not None
    form = {"n": NAME, "seen": seen[1], "do": what, "why": why}
    return shop.ask(f"{FAMILY}/number", token, form)


def test_what_is_shown(shop: Shop) -> None:
    """Tests that the numbers stand on the pages, with what they rest on and change."""
    token = shop.login("office")
    assert b"80 closed jobs" in shop.ask("/learning", token).body
    assert "your 80 jobs say" in unescape(shop.ask(FAMILY, token).body.decode())
    assert "Cleared without a visit, and returns" in shop.ask(FAMILY, token).body.decode()
    page = unescape(shop.ask(NUMBER, token).body.decode())
    assert "15 of 60 with this cause rest only on a remedy that happened to work" in page
    assert "What it does to the chances" in page
    said = unescape(shop.ask(f"{FAMILY}/said", token).body.decode())
    assert "80 jobs in the order of closing" in said


def test_what_it_does_to_the_advice(
    shop: Shop, layers: ShopLayers, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests that first steps are compared on demand while there is time, and nothing changes."""
    monkeypatch.setattr(pages, "EFFECT_SECONDS", 0.0)
    token = shop.login("office")
    page = shop.ask(NUMBER, token).body.decode()
    assert "typical call" not in page
    assert f"{NUMBER}&amp;effect=yes" in page
    told = shop.ask(f"{NUMBER}&effect=yes", token).body.decode()
    assert re.search(r"the first step in (1|none) of 1 typical call\b", told)
    assert "39 rarer calls are not looked at yet" in told
    assert not layers.read("front_load").changes


def test_taking_over(shop: Shop, layers: ShopLayers) -> None:
    """Tests that it needs a reason, and then is a change of the shop's own."""
    token = shop.login("office")
    refused = decide(shop, token, "take", "")
    assert (refused.status, b"in a few words why" in refused.body) == (422, True)
    assert not layers.read("front_load").changes
    assert decide(shop, token, "take", "a year of it").status == 303
    change = layers.read("front_load").changes[-1]
    assert (change.why, change.edits[0].what) == ("a year of it", NAME)
    assert "in our changes" in shop.ask(FAMILY, token).body.decode()


def test_leaving_pinning_and_back(shop: Shop) -> None:
    """Tests that each decision is remembered with its reason, and can be undone."""
    token = shop.login("office")
    for what in ("left", "pinned"):
        assert decide(shop, token, what, "a wet spring").status == 303
        assert decisions(shop.store, "front_load")[NAME].what == what
        assert b"a wet spring" in shop.ask(FAMILY, token).body
    assert decide(shop, token, "again", "").status == 303
    assert decisions(shop.store, "front_load") == {}


def test_numbers_that_changed_since(shop: Shop, layers: ShopLayers) -> None:
    """Tests that only what was looked at is taken over."""
    token = shop.login("office")
    form = {"n": NAME, "seen": "of-yesterday", "do": "take", "why": "so"}
    answer = shop.ask(f"{FAMILY}/number", token, form)
    assert (answer.status, b"something else by now" in answer.body) == (422, True)
    assert not layers.read("front_load").changes


def test_only_the_office(shop: Shop) -> None:
    """Tests that a technician is shown none of it."""
    token = shop.login("technician")
    for path in ("/learning", FAMILY, NUMBER, f"{FAMILY}/said"):
        answer = shop.ask(path, token)
        assert (answer.status, b"nly the office may" in answer.body) == (422, True), path
