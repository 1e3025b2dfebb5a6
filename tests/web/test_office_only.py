"""What a technician's login does not open: figures, data, prices, rules and what packs say."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count
from pathlib import Path

import pytest

from asking import NOON, add_accounts
from tubside.service.data_folder import open_data
from tubside.service.library import Library
from tubside.service.money.shop_money import shop_money
from tubside.service.safety_settings import choose_country, confirmations, shop_profile
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding
from two_logins import Shop

REPAIRS = "/export/repairs.csv?provider=Mill&country=NZL"
SHOWN = ("/figures", "/export", "/export/tables.zip", REPAIRS, "/money/settings")
PACK = "/packs/top_load"
ENTRY = f"{PACK}/causes/not-level"
KEPT: tuple[tuple[str, dict[str, str]], ...] = (
    ("/money/settings", {"shop": "Somebody else's", "country": "NZ"}),
    ("/safety", {"do": "country", "country": "US"}),
    ("/safety", {"do": "confirm", "limit": "conductor", "reference": "mine", "by": "me"}),
    ("/safety", {"do": "withdraw", "limit": "conductor"}),
    (f"{PACK}/keep", {"edits": "[]", "why": "because"}),
    (f"{PACK}/undo", {"change": "abcdefgh", "why": "because"}),
    (f"{PACK}/settle", {"change": "abcdefgh", "why": "because"}),
    (f"{PACK}/causes/new", {"id": "mine", "why": "because"}),
    (f"{ENTRY}/try", {"field": "no-such-field", "value": "3", "why": "because"}),
    ("/packs/import", {}),
)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """A shop with an office and a technician, and one customer."""
    store = open_data(tmp_path / "data", lambda: NOON)
    add_accounts(store)
    choose_country(store, "NZ")
    library = Library(None, tmp_path / "models", tmp_path / "layers")
    yield Shop(create_app(Guarding(), store, library, lambda: NOON), store, count(1))
    store.close()


def test_a_technician_is_shown_none_of_it(shop: Shop) -> None:
    """Tests that each of these pages is refused with the reason, and has no content."""
    token, job = shop.login("technician"), shop.visit("Adaline", "", "ned")
    for path in (*SHOWN, f"/jobs/{job}/person/data.zip"):
        answer = shop.ask(path, token)
        assert (answer.status, b"nly the office may" in answer.body) == (422, True), path
        assert b"Adaline" not in answer.body


def test_a_technician_changes_none_of_it(shop: Shop) -> None:
    """Tests that each of these forms is refused and leaves everything as it was."""
    token, before = shop.login("technician"), shop_money(shop.store)
    for path, form in KEPT:
        answer = shop.ask(path, token, form)
        assert (answer.status, b"nly the office may" in answer.body) == (422, True), path
    loaded = shop_profile(shop.store)
    assert loaded is not None
    assert (loaded.profile.country, shop_money(shop.store)) == ("NZ", before)
    assert confirmations(shop.store, loaded.profile) == {}


def test_the_office_may(shop: Shop) -> None:
    """Tests that nothing of it is refused to the office, so that the tests above are fair."""
    token = shop.login("office")
    assert {shop.ask(path, token).status for path in SHOWN} == {200}
    for path, form in KEPT:
        assert b"nly the office may" not in shop.ask(path, token, form).body, path
    loaded = shop_profile(shop.store)
    assert loaded is not None
    assert loaded.profile.country == "US"


def test_a_stranger_is_asked_to_log_in(shop: Shop) -> None:
    """Tests that without a login nothing of it answers at all."""
    assert {shop.ask(path).status for path in SHOWN} == {401}
    assert {shop.ask(path, "", form).status for path, form in KEPT} == {401}
