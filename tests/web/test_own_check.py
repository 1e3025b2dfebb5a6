"""The customer's own check by its forms: every end, no script, and what must be refused."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from checked_alone import LIBRARY, NOON, WREN, Shop, link, once, opened_shop, step_form
from tubside.service.jobs import job_view
from tubside.service.money.shop_money import ShopMoney, keep_shop_money
from tubside.service.own_check.links import door_link
from tubside.service.own_check.standing import MOST_STEPS
from tubside.service.records import (
    CheckDone,
    Indication,
    Machine,
    RemedyDone,
    WordsKept,
)
from tubside.service.short_text import book_of, encoded
from tubside.service.visit_records import Waiting


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shop]:
    """An empty shop, its beliefs made of few sets to be quick."""
    yield from opened_shop(tmp_path, monkeypatch)


def test_from_the_front_door_to_cleared(shop: Shop) -> None:
    """Tests the whole way of a stranger: danger, machine, lamps, a remedy that works, and back."""
    path = f"/check/{door_link(shop.store, NOON)}"
    page = shop.ask("GET", path)
    assert "anybody in danger" in page.text
    page = shop.ask("POST", path, {"do": "danger", "danger": "none"})
    assert page.text.count('name="machine"') == len(LIBRARY.models()) + len(LIBRARY.families())
    call = {"do": "call", "danger": "none", "machine": "model:brackwater-wren", "once": once(page)}
    page = shop.ask("POST", path, {**call, "name": "Ada Quill", "phone": "01632 960 111"})
    assert "What is wrong?" in page.text
    own = str(page.url.path)
    job = shop.ask("GET", "/").text.split("/jobs/")[1].split('"')[0]
    page = shop.ask("POST", own, {"do": "trouble", "picked": "", "first": "wont_drain"})
    while 'name="outcome" value="works"' not in page.text:
        page = shop.ask("POST", own, step_form(page, "not sure"))
    page = shop.ask("POST", own, step_form(page, "works"))
    assert "it works again" in page.text
    assert "Ada" not in page.text
    assert "01632" not in page.text
    listed = shop.ask("GET", "/").text
    assert "Came by the front door. The customer's own check" in listed
    assert "Cleared, it works again" in shop.ask("GET", f"/jobs/{job}").text
    page = shop.ask("POST", own, {"do": "back", "once": once(page)})
    assert "it works again" not in page.text.lower() or 'name="outcome"' in page.text
    assert "it came back" in shop.ask("GET", "/").text


def test_ends_in_a_visit_with_the_times(shop: Shop) -> None:
    """Tests that somebody who is never sure comes to a visit, and its times reach the shop."""
    job = shop.job(*WREN)
    path = link(shop, job)
    page = shop.ask("POST", path, {"do": "danger", "danger": "none"})
    for _ in range(MOST_STEPS):
        nothing = "not sure" if 'value="not sure"' in page.text else "not done"
        page = shop.ask("POST", path, step_form(page, nothing))
    assert "needs a visit" in page.text
    wish: dict[str, str | list[str]] = {
        "do": "visit",
        "when": ["Monday", "before noon"],
        "note": "no bell",
        "once": once(page),
    }
    page = shop.ask("POST", path, wish)
    assert "has your wish" in page.text
    assert "no bell" not in page.text
    facts = shop.facts(job)
    assert Waiting(what="visit") in facts
    assert sum(isinstance(one, WordsKept) for one in facts) == 1
    assert job_view(shop.store, LIBRARY, job).stage == "waiting"
    shown = shop.ask("GET", f"/jobs/{job}").text
    assert "Times wished for: Monday, before noon; no bell" in shown
    again = shop.ask("POST", path, wish)
    assert "has your wish" in again.text
    assert shop.facts(job) == facts


@pytest.mark.parametrize("kind", ["shock", "burning", "smoke", "tripping", "water-at-plug"])
def test_danger_ends_it(shop: Shop, kind: str) -> None:
    """Tests that after a danger nothing but stop is shown, and no step is taken any more."""
    job = shop.job(*WREN)
    path = link(shop, job)
    page = shop.ask("POST", path, {"do": "danger", "danger": "none"})
    form = step_form(page, "works")
    page = shop.ask("POST", path, {"do": "danger", "danger": kind, "once": "again"})
    assert "Do nothing more at the machine" in page.text
    assert "<form" not in page.text
    before = shop.facts(job)
    for sent in (form, {"do": "danger", "danger": "none"}, {"do": "visit"}, {"do": "back"}):
        assert "Do nothing more" in shop.ask("POST", path, sent).text
    assert shop.facts(job) == before
    assert "stopped:" in shop.ask("GET", "/").text


def test_danger_at_the_door_shows_stop_before_any_name(shop: Shop) -> None:
    """Tests that the front door says what to do at once, then takes a number to ring."""
    path = f"/check/{door_link(shop.store, NOON)}"
    page = shop.ask("POST", path, {"do": "danger", "danger": "shock"})
    assert page.text.index("Do not touch the machine") < page.text.index('name="phone"')
    assert 'name="machine"' not in page.text
    call = {"do": "call", "danger": "shock", "phone": "01632960112", "once": "x"}
    assert "Do nothing more at the machine" in shop.ask("POST", path, call).text


def test_facts_are_the_customers_and_can_be_taken_back(shop: Shop) -> None:
    """Tests that every answer counts as the customer's, and the shop can take one back."""
    job = shop.job(*WREN)
    path = link(shop, job)
    page = shop.ask("POST", path, {"do": "danger", "danger": "none"})
    shop.ask("POST", path, step_form(page, "still-fails"))
    told = [b for b in shop.facts(job) if isinstance(b, CheckDone | RemedyDone)]
    assert [one.by for one in told] == ["customer"]
    view = job_view(shop.store, LIBRARY, job)
    fact = next(e.id for e in view.entries if e.body == told[0])
    shop.ask("POST", f"/jobs/{job}/take-back", {"fact": fact, "reason": "misheard"})
    assert "0 remedies tried" in shop.ask("GET", f"/jobs/{job}").text


def test_the_number_to_ring_and_a_picture_are_in_sight(shop: Shop) -> None:
    """Tests that every page up to the end has the shop's number, and each step its drawing."""
    keep_shop_money(shop.store, ShopMoney(shop="Mill Lane Laundry Repairs", telephone="06 555"))
    path = link(shop, shop.job(*WREN))
    page = shop.ask("GET", path)
    assert 'href="tel:06555"' in page.text
    page = shop.ask("POST", path, {"do": "danger", "danger": "none"})
    for _ in range(2):
        assert 'href="tel:06555"' in page.text
        assert page.text.count('<figure class="drawing">') == 1
        nothing = "not sure" if 'value="not sure"' in page.text else "not done"
        page = shop.ask("POST", path, step_form(page, nothing))


def test_lamps_are_told_by_picture_or_one_by_one(shop: Shop) -> None:
    """Tests both ways of telling the lamps, by plain forms."""
    machine = Machine(model="aldermoor-tern", family="top_load")
    for sent in ({"picked": "four"}, {"lamp.pause": "4 blinks"}):
        job = shop.job(machine)
        path = link(shop, job)
        shop.ask("POST", path, {"do": "danger", "danger": "none"})
        shop.ask("POST", path, {"do": "trouble", "first": "", **sent})
        lamps = [one.lamps for one in shop.facts(job) if isinstance(one, Indication)]
        assert lamps == [{"pause": "4 blinks"}]


def test_cautions_come_first(shop: Shop) -> None:
    """Tests that an answer without its cautions ticked is refused, and says why."""
    job = shop.job(*WREN)
    path = link(shop, job)
    page = shop.ask("POST", path, {"do": "danger", "danger": "none"})
    form = {**step_form(page, "works"), "caution": []}
    assert page.text.index('name="caution"') < page.text.index('class="ask"')
    page = shop.ask("POST", path, form)
    assert (page.status_code, "read what can hurt first" in page.text.lower()) == (422, True)
    assert not any(isinstance(one, RemedyDone) for one in shop.facts(job))


def test_another_step_than_the_one_asked_changes_nothing(shop: Shop) -> None:
    """Tests that no other step of the pack can be sent, a technician's least of all."""
    job = shop.job(*WREN)
    path = link(shop, job)
    page = shop.ask("POST", path, {"do": "danger", "danger": "none"})
    form = step_form(page, "works")
    before = shop.facts(job)
    pack = LIBRARY.model("brackwater-wren").pack
    others = [n for n in (*pack.checks, *pack.remedies) if n != form["step"]]
    for other in others[::30]:
        shop.ask("POST", path, {**form, "step": other})
    assert shop.facts(job) == before


def test_a_text_read_out_is_shown_and_then_kept(shop: Shop) -> None:
    """Tests that the job page tells what a short text says before it is kept, undoable after."""
    job = shop.job(Machine(family="top_load"))
    book = book_of(LIBRARY.model("aldermoor-tern"), "aldermoor-tern")
    items = [("danger", "none", ""), ("condition", "wont_drain", ""), ("end", "visit", "")]
    text = encoded(book, [*items, ("remedy", "straighten-drain-hose", "still-fails")])  # type: ignore[list-item]  # items
    page = shop.ask("POST", f"/jobs/{job}/own-check", {"text": text.lower()})
    assert "Is this what was told?" in page.text
    assert "A visit is wished for." in page.text
    assert shop.facts(job) == []
    page = shop.ask("POST", f"/jobs/{job}/own-check", {"text": text, "do": "keep", "once": "k"})
    assert "told the trouble, 0 checks answered, 1 remedy tried" in page.text
    assert Machine(family="top_load", model="aldermoor-tern") in shop.facts(job)
    wrong = shop.ask("POST", f"/jobs/{job}/own-check", {"text": text[:-1] + "0"})
    assert (wrong.status_code, "misheard" in wrong.text) == (422, True)
    dryer = shop.job(Machine(family="dryer"))
    other = shop.ask("POST", f"/jobs/{dryer}/own-check", {"text": text})
    assert (other.status_code, "another machine" in other.text) == (422, True)


def test_the_shop_gives_out_links(shop: Shop) -> None:
    """Tests that the job's page and the front door's show a link that opens, and its code."""
    job = shop.job(*WREN)
    for path in (f"/jobs/{job}/own-check", "/own-check"):
        page = shop.ask("GET", path)
        found = re.search(r"http://testserver(/check/[\w.-]+)", page.text)
        assert found is not None
        assert "<svg" in page.text
        assert "anybody in danger" in shop.ask("GET", found[1]).text
    old = re.search(r"(/check/[\w.-]+)", shop.ask("GET", "/own-check").text)
    assert old is not None
    shop.ask("POST", "/own-check", {"do": "shut"})
    assert shop.ask("GET", old[1]).status_code == 404
