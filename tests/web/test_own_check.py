"""The customer's own check by its forms: every end, no script, and what must be refused."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import partial
from itertools import count
from pathlib import Path

import httpx
import pytest
from starlette.types import ASGIApp

from tubside.service import viewing
from tubside.service.advise import advise
from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.jobs import job_view, new_job, record
from tubside.service.library import Library
from tubside.service.money.shop_money import ShopMoney, keep_shop_money
from tubside.service.own_check import choosing
from tubside.service.own_check.keeping import CALLS_AN_HOUR
from tubside.service.own_check.links import door_link, job_link
from tubside.service.own_check.standing import DEVICE, MOST_FACTS, MOST_STEPS
from tubside.service.records import (
    Body,
    CheckDone,
    Closing,
    DangerTold,
    Indication,
    Machine,
    Place,
    RemedyDone,
    Reported,
    WordsKept,
)
from tubside.service.short_text import book_of, encoded
from tubside.service.visit_records import Waiting
from tubside.store.opening import Store
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding
from unscripted import asked

LIBRARY = Library()
NOON = datetime(2026, 3, 4, 12, tzinfo=UTC)


@dataclass
class Clock:
    """A clock that a test moves."""

    now: datetime = NOON

    def __call__(self) -> datetime:
        """The time it shows."""
        return self.now


@dataclass
class Shop:
    """The app, its store, and a browser without scripts."""

    app: ASGIApp
    store: Store
    clock: Clock
    numbers: Iterator[int] = field(default_factory=count)

    def ask(
        self,
        method: str,
        path: str,
        data: Mapping[str, str | list[str]] | None = None,
        files: Mapping[str, tuple[str, bytes]] | None = None,
    ) -> httpx.Response:
        """Ask and follow where it leads."""
        return asked(self.app, method, path, data, files)

    def author(self) -> Author:
        """The shop itself as author."""
        return Author("server", self.clock, lambda: f"fact-number-{next(self.numbers)}")

    def job(self, *bodies: Body) -> str:
        """A job that the shop opened."""
        return new_job(self.store, self.author(), bodies or (DangerTold(),))

    def facts(self, job: str) -> list[Body]:
        """What came by the customer's link."""
        entries = job_view(self.store, LIBRARY, job).entries
        return [one.body for one in entries if one.device == DEVICE]


WREN = (Machine(model="brackwater-wren", family="front_load"), Reported(conditions=["wont_drain"]))


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shop]:
    """An empty shop, its beliefs made of few sets to be quick."""
    monkeypatch.setattr(viewing, "advise", partial(advise, size=40))
    monkeypatch.setattr(choosing, "SETS", 60)
    monkeypatch.setattr(choosing, "AHEAD", (0, 20))
    clock = Clock()
    store = open_data(tmp_path, clock)
    app = create_app(Guarding(frozenset({"testserver"})), store, LIBRARY, clock)
    yield Shop(app, store, clock)
    store.close()


def link(shop: Shop, job: str) -> str:
    """The path of a job's link."""
    return f"/check/{job_link(shop.store, job, shop.clock())}"


def once(page: httpx.Response) -> str:
    """The id in the first form of a page."""
    found = re.search(r'name="once" value="(\w+)"', page.text)
    assert found is not None
    return found[1]


def step_form(page: httpx.Response, outcome: str) -> dict[str, str | list[str]]:
    """The step's form filled in, every caution ticked."""
    step = re.search(r'name="step" value="([\w-]+)"', page.text)
    assert step is not None
    cautions = re.findall(r'name="caution" value="([\w-]+)"', page.text)
    told: dict[str, str | list[str]] = {"do": "step", "step": step[1], "outcome": outcome}
    return {**told, "once": once(page), "caution": cautions}


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
