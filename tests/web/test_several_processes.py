"""Two app processes on one database: what is done at one holds at the other."""

from __future__ import annotations

import itertools
import re
import shutil
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime
from html import unescape
from pathlib import Path

import httpx
import msgspec
import pytest

from asking import CHEAP, NOON, PASSWORD
from served import served_together
from stores import Server
from tubside.pack.home import packs_folder
from tubside.pack.new_family import begin_family
from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.jobs import new_job
from tubside.service.library import Library
from tubside.service.logins import User, add_user
from tubside.service.people import PersonData, add_person
from tubside.service.records import Body, Machine, PersonNamed
from tubside.service.shop_models import ShopModels
from tubside.store.money import bills
from tubside.store.opening import Store

INVOICES = 8
BILL = {
    "manner": "fixed",
    "band": "day",
    "minutes": "60",
    "line_words": "Call-out",
    "line_quantity": "1",
    "line_price": "65.00",
    "line_kind": "call-out",
    "line_days": "",
    "buyer": "Ada Quill",
    "address": "1 Mill Lane\r\nElverdale",
    "reference": "",
}


@dataclass(frozen=True)
class Door:
    """One of the processes, asked by a browser without scripts."""

    address: str
    browser: httpx.Client

    def ask(
        self,
        path: str,
        data: Mapping[str, str] | None = None,
        files: Mapping[str, tuple[str, bytes]] | None = None,
        json: object = None,
    ) -> httpx.Response:
        """Open a page, or send a form and follow where it leads."""
        method = "POST" if any(told is not None for told in (data, files, json)) else "GET"
        headers = {"origin": self.address}
        return self.browser.request(
            method, self.address + path, data=data, files=files, json=json, headers=headers
        )


@dataclass(frozen=True)
class Shop:
    """A shop served by two processes that one login opens; the test itself is a third one."""

    first: Door
    second: Door
    store: Store
    jobs: list[str]
    home: Path


@pytest.fixture(scope="module")
def shop(server: Server, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """A shop with a login, jobs, a small family's pack and one that models are of."""
    home, packs = tmp_path_factory.mktemp("home"), tmp_path_factory.mktemp("packs")
    begin_family("small", packs)
    shutil.copytree(packs_folder() / "front_load", packs / "front_load")
    server.run("createdb", "several")
    place = server.address("several")
    store = open_data(place, lambda: NOON)
    add_user(store, User("desk", "office", NOON), PASSWORD, CHEAP.hasher)
    add_person(store, "person-0001", PersonData(name="Ada Quill"), NOON)
    names = (f"fact-of-two-{number:04}" for number in itertools.count())
    author = Author("server", lambda: datetime.now(UTC), lambda: next(names))
    machine: list[Body] = [Machine(family="small"), PersonNamed(ref="person-0001")]
    jobs = [new_job(store, author, machine) for _ in range(INVOICES)]
    with (
        served_together(2, place, home, "--packs", str(packs)) as addresses,
        httpx.Client(follow_redirects=True, timeout=60) as browser,
    ):
        first, second = (Door(address, browser) for address in addresses)
        logged = first.ask("/login", {"name": "desk", "password": PASSWORD, "next": "/"})
        assert logged.status_code == 200, logged.text
        yield Shop(first, second, store, jobs, home)
    store.close()


def test_a_login_made_at_one_holds_at_the_other(shop: Shop) -> None:
    """Tests that both know the session, and that without it both want one."""
    for door in (shop.first, shop.second):
        assert door.ask("/").url.path == "/"
        stranger = httpx.get(f"{door.address}/", headers={"accept": "text/html"})
        assert stranger.headers["location"].startswith("/login")


def test_a_fact_sent_to_one_is_shown_by_the_other(shop: Shop) -> None:
    """Tests what a phone sends, and that the same sent to the other one is there already."""
    body = {"kind": "danger", "kinds": ["smoke"]}
    at = datetime.now(UTC).isoformat()
    fact = {"id": "fact-of-a-phone", "job": "job-of-a-phone", "sequence": 1, "at": at, "body": body}
    told = {"device": "phone-of-two-0001", "facts": [fact]}
    sent = [door.ask("/sync", json=told).json() for door in (shop.first, shop.second)]
    assert [one["results"][0]["result"] for one in sent] == ["kept", "there"]
    assert "moke" in shop.second.ask("/jobs/job-of-a-phone").text


def test_a_model_taught_at_one_is_known_to_the_other(shop: Shop, tmp_path: Path) -> None:
    """Tests a new model, and one changed by a third, without a restart."""
    panel = Library().model("brackwater-wren").panel
    assert panel is not None
    own = msgspec.structs.replace(panel, model="own-model", name="Own Model", about="As taught.")
    elsewhere = ShopModels(tmp_path / "elsewhere")
    elsewhere.keep(own)
    assert shop.second.ask("/models/own-model").is_error
    archive = {"archive": ("m.zip", elsewhere.exported("own-model"))}
    assert shop.first.ask("/models/import", files=archive).url.path == "/models/own-model"
    assert "As taught." in shop.second.ask("/models/own-model").text
    changed = msgspec.structs.replace(own, about="Changed since.")
    ShopModels(shop.home / "tubside" / "models").keep(changed, again=True)
    for door in (shop.first, shop.second):
        assert "Changed since." in door.ask("/models/own-model").text


def test_a_change_of_a_pack_at_one_is_used_by_the_other(shop: Shop) -> None:
    """Tests a weight that was accepted at one process, and taken back at the other."""
    told = shop.first.ask(
        "/packs/small/causes/belt-worn/try",
        {"field": "weight", "value": "313", "why": "fewer by my book"},
    )
    hidden = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', told.text))
    assert "313" not in shop.second.ask("/packs/small/causes/belt-worn").text
    shop.first.ask("/packs/small/keep", {k: unescape(v) for k, v in hidden.items()})
    assert "313" in shop.second.ask("/packs/small/causes/belt-worn").text
    shop.second.ask("/packs/small/undo", {"change": "1", "why": "a quiet month"})
    assert "313" not in shop.first.ask("/packs/small/causes/belt-worn").text


def test_invoices_of_both_at_once_have_no_gaps(shop: Shop) -> None:
    """Tests that numbers follow each other, each once, whichever process gives them."""

    def issue(number: int) -> int:
        door = (shop.first, shop.second)[number % 2]
        told = {**BILL, "once": f"invoice-of-two-{number}"}
        return door.ask(f"/jobs/{shop.jobs[number]}/invoice", told).status_code

    with ThreadPoolExecutor(4) as threads:
        assert set(threads.map(issue, range(INVOICES))) == {200}
    with shop.store.reading() as opened:
        numbers = sorted(bill.number for bill in bills(opened))
    assert numbers == list(range(numbers[0], numbers[0] + INVOICES))


def test_who_leaves_one_has_left_the_other(shop: Shop) -> None:
    """Tests that a session that ended opens nothing at the other process."""
    cookie = dict(shop.first.browser.cookies)
    shop.first.ask("/logout", {})
    held = httpx.get(f"{shop.second.address}/", cookies=cookie, headers={"accept": "text/html"})
    assert held.headers["location"].startswith("/login")
