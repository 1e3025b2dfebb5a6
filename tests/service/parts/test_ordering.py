"""Tests of what to order: the packs' word at first, then what the shop itself uses."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from stores import START, Ticking
from tubside.service.data_folder import open_data
from tubside.service.library import Library
from tubside.service.parts.articles import Article, Offer, keep_article, keep_offer
from tubside.service.parts.moving import Hand, Move, move
from tubside.service.parts.ordering import OrderLine, kinds_a_job, order_csv, order_list
from tubside.store.opening import Store

LIBRARY = Library()


@pytest.fixture
def shop(tmp_path: Path, clock: Ticking) -> Iterator[Store]:
    """A shop with a pump, a pair of brushes, and something that no pack knows."""
    store = open_data(tmp_path, clock)
    keep_article(store, Article("DP-1", "Drain pump", ("front_load/drain-pump",)), clock())
    keep_article(store, Article("BR-1", "Brushes", ("front_load/brush-pair",)), clock())
    keep_article(store, Article("XX-1", "=Something"), clock())
    keep_offer(store, "offer-0001", "DP-1", Offer("Fenn Parts", 2450, 2.0), clock())
    keep_offer(store, "offer-0002", "BR-1", Offer("Ostler", 990, 14.0), clock())
    yield store
    store.close()


def used(store: Store, number: str, count: int, days: float = 200.0) -> None:
    """Book so many uses, evenly over the last days before the first of January 2027."""
    for turn in range(count):
        at = START + timedelta(days=days * turn / count)
        hand = Hand(f"{number}-used-{turn:04}", "server", at)
        move(store, Move(number, 1, "van:ida", None, "used", "not-booked-in"), hand)


def line(store: Store, number: str, target: float = 0.9) -> OrderLine:
    """The line of one part 200 days later."""
    found = order_list(store, LIBRARY, START + timedelta(days=200), target)
    return next(one for one in found.lines if one.part.article.number == number)


def test_what_sells_is_held(shop: Store) -> None:
    """Tests that the shop's own use raises the demand and the stock to hold."""
    before = line(shop, "DP-1")
    used(shop, "DP-1", 30)
    after = line(shop, "DP-1")
    assert after.used == 30
    assert before.a_year < 10.0 < after.a_year
    assert after.least > before.least
    assert after.order == after.least + 30


def test_what_never_sells_is_given_up(shop: Store, clock: Ticking) -> None:
    """Tests that a part in stock for long that nobody used is asked for less."""
    before = line(shop, "BR-1").a_year
    hand = Hand("brushes-0001", "server", clock())
    move(shop, Move("BR-1", 2, None, "workshop", "received"), hand)
    assert line(shop, "BR-1").a_year < before


def test_a_slow_supplier_and_a_higher_target_want_more(shop: Store, clock: Ticking) -> None:
    """Tests that waiting longer, and promising more, both raise the stock."""
    used(shop, "DP-1", 30)
    quick = line(shop, "DP-1").least
    assert line(shop, "DP-1", 0.999).least > quick
    keep_offer(shop, "offer-0003", "DP-1", Offer("Fenn Parts", 2450, 60.0), clock())
    assert line(shop, "DP-1").least > quick


def test_what_is_on_its_way_is_not_ordered_again(shop: Store, clock: Ticking) -> None:
    """Tests that held and ordered units both count."""
    used(shop, "DP-1", 30)
    wanted = line(shop, "DP-1").order
    move(shop, Move("DP-1", wanted, None, "on-order", "ordered"), Hand("order-001", "x", clock()))
    assert line(shop, "DP-1").order == 0


def test_unknown_parts_and_formulas(shop: Store) -> None:
    """Tests that a part without demand is not ordered, and a table holds no formula."""
    assert line(shop, "XX-1").least == 0
    used(shop, "XX-1", 12)
    assert line(shop, "XX-1").order > 0
    table = order_csv(order_list(shop, LIBRARY, START + timedelta(days=200)))
    assert "'=Something" in table


def test_the_packs_say_what_calls_need() -> None:
    """Tests that each cause counts once at most, for the parts of its cheapest good remedy."""
    for family in LIBRARY.families():
        known = LIBRARY.family(family)
        weights = np.array([known.pack.causes[c].weight for c in known.model.names.causes])
        chances = kinds_a_job(known.model, weights / 1000.0)
        assert chances
        assert max(chances.values()) < 0.3
        assert set(chances) <= set(known.model.names.parts)
