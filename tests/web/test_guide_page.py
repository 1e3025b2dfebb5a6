"""The guide for customers as the shop looks at it: each file made by itself, for the shop alone."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from guides import small_library
from tubside.guide.building import file_named, files_of, front_of
from tubside.service.money.shop_money import ShopMoney, keep_shop_money
from tubside.web.security.public import is_open, shown_outside
from unscripted import Unscripted, unscripted_at


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Unscripted]:
    """A shop of one small family."""
    shop = unscripted_at(tmp_path / "data", small_library(tmp_path / "packs"))
    keep_shop_money(
        shop.store, ShopMoney(shop="Mill Lane Laundry Repairs", telephone="06 555 0100")
    )
    yield shop
    shop.store.close()


def test_the_front_door_leads_to_it(shop: Unscripted) -> None:
    """Tests the way to the guide, its sheet and script, and a page with the shop's number."""
    assert 'href="/guide/index.html"' in shop.get("/own-check").text
    start = shop.get("/guide")
    assert start.url.path == "/guide/index.html"
    for name in re.findall(r'href="([a-z-]+\.(?:html|css|svg))"', start.text):
        found = shop.get(f"/guide/{name}")
        assert found.status_code == 200, name
        assert found.headers["content-type"].partition(";")[0] in {
            "text/html",
            "text/css",
            "image/svg+xml",
        }
    answer = shop.get("/guide/kind-small-pack-wont-drain.html")
    assert "06 555 0100" in answer.text
    assert 'class="drawing"' in answer.text


def test_a_file_by_itself_is_that_of_the_folder(shop: Unscripted) -> None:
    """Tests that what is looked at is what is built, file by file."""
    front = front_of(shop.store)
    for name, content in files_of(shop.library, front):
        assert file_named(shop.library, front, name) == content, name


def test_what_it_has_not_is_told(shop: Unscripted) -> None:
    """Tests names that are none of its files."""
    for name in ("nothing.html", "..%2fapp.py", "kind-small-pack"):
        assert shop.get(f"/guide/{name}").status_code == 404


def test_strangers_do_not_see_it() -> None:
    """Tests that no page of it is reckoned for somebody who is not of the shop."""
    assert not is_open("/guide/index.html")
    assert not shown_outside("/guide/index.html")
