"""Tests of the shop's day: from facts of jobs to rounds, prices of changes, and the feed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from itertools import count
from pathlib import Path

import pytest

from tubside.errors import DayError, NotThereError
from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.jobs import new_job, record, take_back
from tubside.service.library import Library
from tubside.service.people import PersonData, add_person
from tubside.service.records import Closing, PersonNamed, Place, Visit
from tubside.service.visit_records import OnSite
from tubside.service.visits.feed import feed_of, new_link
from tubside.service.visits.settings import TechnicianSetting, TravelSetting, keep_technician
from tubside.service.visits.settings import keep_travel as travels
from tubside.service.visits.shop_day import (
    Shop,
    best_again,
    keep_order,
    moved,
    shop_day,
    squeezed,
)

DAY = date(2026, 3, 4)
DAWN = datetime(2026, 3, 4, 6, tzinfo=UTC)
YARD = "52.1000, 0.2500"
IDS = count(1)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """Return a shop with the technician ida, who works from eight to five."""
    store = open_data(tmp_path, lambda: DAWN)
    keep_technician(store, "ida", TechnicianSetting(start=YARD))
    yield Shop(store, Library(), UTC)
    store.close()


def author(at: datetime = DAWN) -> Author:
    """Return a hand that writes at a moment."""
    return Author("server", lambda: at, lambda: f"fresh-{next(IDS):06}")


def visit(hour: float, hours: float = 2, **more: object) -> Visit:
    """Return a booked visit."""
    start = datetime(2026, 3, 4, tzinfo=UTC) + timedelta(hours=hour)
    end = start + timedelta(hours=hours)
    return Visit(status="booked", arrive_from=start, arrive_until=end, **more)  # type: ignore[arg-type]  # any field


def job(shop: Shop, name: str, place: str, body: Visit | None) -> str:
    """Return a fresh job of somebody who lives at a place."""
    ref = f"person-{next(IDS):06}"
    street = f"{name} Street"
    add_person(shop.store, ref, PersonData(name=name, address=street, place=place), DAWN)
    return new_job(shop.store, author(), [PersonNamed(ref=ref), *([body] if body else [])])


def test_the_day_goes_by_the_promises(shop: Shop) -> None:
    """Tests that both visits are there, in the order of their windows, hardly ever late."""
    later = job(shop, "Ada", "52.11, 0.26", visit(13))
    first = job(shop, "Bo", "52.12, 0.24", visit(8.5))
    job(shop, "Cy", "52.12, 0.24", visit(33))
    day = shop_day(shop, DAY, DAWN)
    assert day.plan.orders == {"ida": (first, later)}
    assert max(day.plan.late.values()) < 0.05


def test_long_visits_make_the_next_promise_late(shop: Shop) -> None:
    """Tests that the time on site told with a visit moves the chance to be late."""
    job(shop, "Ada", "52.11, 0.26", visit(8, 0.5, on_site=OnSite(mean=100, low=60, high=150)))
    after = job(shop, "Bo", "52.12, 0.24", visit(9, 1))
    assert shop_day(shop, DAY, DAWN).plan.late[after] > 0.2


def test_an_unknown_place_is_said_and_takes_the_stated_time(shop: Shop) -> None:
    """Tests that nobody's coordinates are made up: the way takes what the shop stated."""
    travels(shop.store, TravelSetting(unknown_minutes=35))
    job(shop, "Ada", "", visit(9))
    day = shop_day(shop, DAY, DAWN)
    assert "Ada" in day.unknown_note("ida")
    assert "35 minutes" in day.unknown_note()
    assert day.unknown_note("ned") == ""
    assert not any("Ada" in note for note in day.notes)
    assert day.plan.rounds[0].visits[0].drive == 35 * 60


def test_a_routing_server_that_is_away_is_told(shop: Shop) -> None:
    """Tests that the day is planned all the same, by the map, and says so."""
    travels(shop.store, TravelSetting(router="http://127.0.0.1:9"))
    job(shop, "Ada", "52.11, 0.26", visit(9))
    day = shop_day(shop, DAY, DAWN)
    assert any("127.0.0.1:9" in note for note in day.notes)
    assert day.plan.rounds[0].metres > 1000


def test_one_more_call_is_priced_before_it_is_promised(shop: Shop) -> None:
    """Tests that squeezing in costs time, names promises at risk, and changes nothing yet."""
    job(shop, "Ada", "52.11, 0.26", visit(8, 1, on_site=OnSite(mean=50, low=30, high=80)))
    at_risk = job(shop, "Bo", "52.12, 0.24", visit(9.5, 0.75))
    more = job(shop, "Cy", "52.2, 0.4", None)
    _, found = squeezed(shop, more, visit(8, 2), DAWN, urgent=False)
    assert found.change.work > 600
    _, now = squeezed(shop, more, visit(8), DAWN + timedelta(hours=2), urgent=True)
    assert now.place == 0
    assert at_risk in {risk.stop for risk in now.change.at_risk}
    assert set(shop_day(shop, DAY, DAWN).plan.late) == set(found.change.after.late) - {more}


def test_an_order_by_hand_stays_until_the_best_is_wanted_again(shop: Shop) -> None:
    """Tests that a visit moved by hand stays moved, is priced, and can be put back."""
    first = job(shop, "Ada", "52.11, 0.26", visit(8, 1))
    second = job(shop, "Bo", "52.12, 0.24", visit(12, 1))
    day = shop_day(shop, DAY, DAWN)
    keep_order(shop, day, moved(day.plan.orders, second, -1))
    by_hand = shop_day(shop, DAY, DAWN)
    assert by_hand.plan.orders == {"ida": (second, first)}
    assert by_hand.by_hand is not None
    assert by_hand.by_hand.cost > 0
    assert {risk.stop for risk in by_hand.by_hand.at_risk} == {first}
    with pytest.raises(DayError, match="missing"):
        keep_order(shop, day, {"ida": (first,)})
    best_again(shop, DAY)
    assert shop_day(shop, DAY, DAWN).plan.orders == {"ida": (first, second)}


def test_what_is_done_leaves_the_day(shop: Shop) -> None:
    """Tests that a failed visit and a closed job are done, and a taken-back failure is not."""
    ada = job(shop, "Ada", "52.11, 0.26", visit(8, technician="ida"))
    bo = job(shop, "Bo", "52.12, 0.24", visit(12))
    nine = DAWN + timedelta(hours=3)
    failed = Visit(status="failed", reason="nobody-home")
    fact = record(shop.store, ada, author(nine), failed)
    assert shop_day(shop, DAY, nine).plan.orders == {"ida": (bo,)}
    take_back(shop.store, ada, author(nine), fact)
    assert set(shop_day(shop, DAY, nine).plan.late) == {ada, bo}
    record(shop.store, ada, author(nine), Place(where="site"))
    assert shop_day(shop, DAY, nine).visits[0].state == "under way"
    record(shop.store, ada, author(nine), Closing(confirmed_by="seen"))
    assert shop_day(shop, DAY, nine).visits[0].state == "done"


def test_nobody_with_the_skill_is_told(shop: Shop) -> None:
    """Tests that a visit nobody can make is left out, with why."""
    job(shop, "Ada", "52.11, 0.26", visit(8, skills=["gas"]))
    assert "gas" in shop_day(shop, DAY, DAWN).plan.left_out[0].why


def test_no_hours_set_is_told(tmp_path: Path) -> None:
    """Tests that a shop that never said who works gets a clear word."""
    store = open_data(tmp_path, lambda: DAWN)
    with pytest.raises(DayError, match="hours"):
        shop_day(Shop(store, Library(), UTC), DAY, DAWN)
    store.close()


def test_the_feed_holds_the_least_and_is_renewed(shop: Shop) -> None:
    """Tests that the feed has street and window, no name, and that an old link is dead."""
    mine = job(shop, "Ada", "52.11, 0.26", visit(8, technician="ida"))
    job(shop, "Bo", "52.12, 0.24", visit(9, technician="ned"))
    record(shop.store, mine, author(), visit(10, technician="ida"))
    old = new_link(shop, "ida")
    text = feed_of(shop, old, DAWN)
    assert "DTSTART:20260304T100000Z" in text
    assert "SEQUENCE:1" in text
    assert text.count("BEGIN:VEVENT") == 1
    assert "Ada Street" in text
    assert "SUMMARY:Job " in text
    assert "SUMMARY:Ada" not in text
    new = new_link(shop, "ida")
    with pytest.raises(NotThereError):
        feed_of(shop, old, DAWN)
    assert feed_of(shop, new, DAWN) == text


def test_what_was_called_off_or_given_away_is_sent_as_cancelled(shop: Shop) -> None:
    """Tests STATUS and a SEQUENCE that only grows, also when the calling off is taken back."""
    mine = job(shop, "Ada", "52.11, 0.26", visit(8, technician="ida"))
    link, neds = new_link(shop, "ida"), new_link(shop, "ned")
    assert "STATUS:CONFIRMED" in feed_of(shop, link, DAWN)
    off = record(shop.store, mine, author(), Visit(status="cancelled"))
    text = feed_of(shop, link, DAWN)
    assert "STATUS:CANCELLED" in text
    assert "SEQUENCE:1" in text
    assert "Ada Street" not in text
    take_back(shop.store, mine, author(), off)
    text = feed_of(shop, link, DAWN)
    assert "STATUS:CONFIRMED" in text
    assert "SEQUENCE:2" in text
    assert "BEGIN:VEVENT" not in feed_of(shop, neds, DAWN)
    record(shop.store, mine, author(), visit(9, technician="ned"))
    assert "STATUS:CANCELLED" in feed_of(shop, link, DAWN)
    given = feed_of(shop, neds, DAWN)
    assert "STATUS:CONFIRMED" in given
    assert "SEQUENCE:3" in given


@pytest.mark.parametrize(
    ("told", "wrong"),
    [
        (TechnicianSetting(start="nowhere"), "no place"),
        (TechnicianSetting(start=YARD, begins="25:00"), "no time"),
        (TechnicianSetting(start=YARD, begins="18:00"), "closes before"),
        (TechnicianSetting(start=YARD, people=9), "cannot be kept"),
    ],
)
def test_settings_that_cannot_be(shop: Shop, told: TechnicianSetting, wrong: str) -> None:
    """Tests that a wrong setting is refused with what is wrong."""
    with pytest.raises(DayError, match=wrong):
        keep_technician(shop.store, "ned", told)
