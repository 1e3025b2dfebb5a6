"""What the customer's own check refuses: wrong links, floods, strangers' facts."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from checked_alone import NOON, WREN, Shop, link, opened_shop
from tubside.service.authors import Author
from tubside.service.jobs import record
from tubside.service.own_check.keeping import CALLS_AN_HOUR
from tubside.service.own_check.links import door_link
from tubside.service.own_check.standing import DEVICE, MOST_FACTS
from tubside.service.records import (
    Closing,
    DangerTold,
    Place,
)


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shop]:
    """An empty shop, its beliefs made of few sets to be quick."""
    yield from opened_shop(tmp_path, monkeypatch)


def test_links_of_other_or_closed_jobs_are_refused(shop: Shop) -> None:
    """Tests forged, past, swapped and replayed links by the page itself."""
    one, other = shop.job(*WREN), shop.job(*WREN)
    first, second = link(shop, one), link(shop, other)
    swapped = f"{second.partition('.')[0]}.{first.partition('.')[2]}"
    for path in (swapped, "/check/abc.def", f"{first}x"):
        for method in ("GET", "POST"):
            answer = shop.ask(method, path, {"do": "danger", "danger": "none"})
            assert (answer.status_code, "this link is not right" in answer.text.lower()) == (
                404,
                True,
            )
    shop.ask("POST", first, {"do": "danger", "danger": "none"})
    assert shop.facts(other) == []
    record(shop.store, one, shop.author(), Closing(confirmed_by="not-confirmed"))
    before = shop.facts(one)
    for method in ("GET", "POST"):
        answer = shop.ask(method, first, {"do": "danger", "danger": "smoke"})
        assert (answer.status_code, "is closed" in answer.text) == (404, True)
    assert shop.facts(one) == before
    record(shop.store, other, shop.author(), Place(where="site"))
    assert "technician is with the machine" in shop.ask("GET", second).text
    shop.clock.now += timedelta(days=8)
    assert "past its last day" in shop.ask("GET", first).text


def test_the_door_takes_few_calls_an_hour(shop: Shop) -> None:
    """Tests that the front door is shut after some calls, and opens again an hour later."""
    path = f"/check/{door_link(shop.store, NOON)}"
    call = {"do": "call", "danger": "none", "machine": "family:dryer", "phone": "0163296011"}
    for number in range(CALLS_AN_HOUR):
        assert "/check/" in str(shop.ask("POST", path, {**call, "once": f"n{number}"}).url)
    same = shop.ask("POST", path, {**call, "once": "n0"})
    assert same.status_code == 200  # the same form again opens its own job
    full = shop.ask("POST", path, {**call, "once": "more"})
    assert (full.status_code, "within the hour" in full.text) == (422, True)
    shop.clock.now += timedelta(minutes=61)
    assert shop.ask("POST", path, {**call, "once": "more"}).status_code == 200
    assert shop.ask("GET", "/").text.count("Came by the front door") == CALLS_AN_HOUR + 1


@pytest.mark.parametrize(
    "wrong",
    [
        {"phone": ""},
        {"phone": "ring me"},
        {"phone": "0" * 60},
        {"name": "x" * 300},
        {"machine": "model:nothing"},
        {"danger": "no idea"},
    ],
)
def test_the_door_refuses_what_is_no_call(shop: Shop, wrong: dict[str, str]) -> None:
    """Tests that a call without a number, or with odd words in it, opens no job."""
    path = f"/check/{door_link(shop.store, NOON)}"
    call = {"do": "call", "danger": "none", "machine": "", "phone": "0163296011", "once": "n"}
    assert shop.ask("POST", path, {**call, **wrong}).status_code == 422
    assert "Came by the front door" not in shop.ask("GET", "/").text


def test_a_form_from_outside_names_no_fact_of_the_shop(shop: Shop) -> None:
    """Tests that the id in a form cannot be made to meet a job or a fact that is there."""
    job = shop.job(*WREN)
    path = f"/check/{door_link(shop.store, NOON)}"
    call = {"do": "call", "danger": "none", "machine": "", "phone": "0163296011"}
    shop.ask("POST", path, {**call, "once": job.removesuffix("-0")})
    assert shop.facts(job) == []


def test_one_job_takes_so_many_facts_and_no_more(shop: Shop) -> None:
    """Tests that a link cannot fill the store: danger and wishes are repeated in vain."""
    job = shop.job(*WREN)
    author = Author(DEVICE, shop.clock, lambda: f"flood-number-{next(shop.numbers)}")
    for _ in range(MOST_FACTS):
        record(shop.store, job, author, DangerTold())
    path = link(shop, job)
    page = shop.ask("POST", path, {"do": "danger", "danger": "shock", "once": "z"})
    assert "that is all this page takes" in page.text.lower()
    assert len(shop.facts(job)) == MOST_FACTS


def test_film_by_a_wrong_link_is_not_read(shop: Shop) -> None:
    """Tests that a film is refused by its link before its size, and one that is none in words."""
    film = {"recording": ("clip.mp4", b"no film at all")}
    assert shop.ask("POST", "/check/abc.def/film", {}, film).status_code == 404
    job = shop.job(*WREN)
    answer = shop.ask("POST", f"{link(shop, job)}/film", {"once": "f"}, film)
    assert (answer.status_code, "did not work" in answer.text) == (422, True)
    assert shop.facts(job) == []
