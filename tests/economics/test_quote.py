"""Prices, labour by steps, and a quote's range."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.economics.price_book import Band, PriceBook, billed_minutes, deposit_of, selling_price
from tubside.economics.quote import Work, first_lines, labour_line, otherwise, price_range
from tubside.errors import MoneyError
from tubside.money.countries import rules_of

BOOK = PriceBook()
TAX = (rules_of("NZ"), Decimal(15))


@given(st.lists(st.floats(0, 600), min_size=3, max_size=3))
def test_a_range_is_in_order(minutes: list[float]) -> None:
    """Tests that low, average, eight of ten and high never cross."""
    low, mean, high = sorted(minutes)
    found = price_range(BOOK, "day", Work(mean, low, high), first_lines(BOOK, visited=True), TAX)
    assert found.low <= found.expected <= found.most_times <= found.high


@given(st.floats(0.01, 2000), st.integers(1, 60))
def test_steps_begun_are_charged(minutes: float, step: int) -> None:
    """Tests that charged time is whole steps, no less than worked and no step too long."""
    billed = billed_minutes(replace(BOOK, step_minutes=step, least_minutes=0), minutes)
    assert billed % step == 0
    assert minutes <= billed < minutes + step


def test_lines_from_the_book() -> None:
    """Tests that the first lines are what is charged and was not yet."""
    assert [line.kind for line in first_lines(BOOK, visited=False)] == ["call-out", "diagnosis"]
    assert [line.kind for line in first_lines(BOOK, visited=True)] == ["diagnosis"]
    assert first_lines(replace(BOOK, call_out=0, diagnosis=0), visited=False) == []
    assert labour_line(BOOK, "day", 0) is None
    labour = labour_line(BOOK, "weekend", 50, 90)
    assert labour is not None
    assert (labour.quantity, labour.net, labour.warranty_days) == (Decimal(1), 135_00, 90)
    with pytest.raises(MoneyError, match="no labour 'night'"):
        labour_line(BOOK, "night", 50)


def test_margin_and_deposit() -> None:
    """Tests a part's price and a deposit, a half cent up."""
    assert selling_price(replace(BOOK, parts_margin=Decimal("12.5")), 20_04) == 22_55
    assert deposit_of(replace(BOOK, deposit=Decimal(50)), 101) == 51


def test_what_happens_otherwise_is_said() -> None:
    """Tests that both manners say what ending the job costs."""
    for manner in ("fixed", "range"):
        assert any("105.00" in one for one in otherwise(manner, 105_00))
    assert "upper end" in " ".join(otherwise("range", 1))
    assert "holds" in " ".join(otherwise("fixed", 1))


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: replace(BOOK, bands=()),
        lambda: replace(BOOK, bands=(Band("a", "A", 1), Band("a", "B", 1))),
        lambda: replace(BOOK, call_out=-1),
        lambda: replace(BOOK, step_minutes=0),
        lambda: replace(BOOK, deposit=Decimal(101)),
        lambda: replace(BOOK, quote_days=0),
    ],
)
def test_prices_that_cannot_be(wrong: Callable[[], PriceBook]) -> None:
    """Tests that a price book with what cannot be is refused."""
    with pytest.raises(MoneyError):
        wrong()


def test_minutes_that_are_no_range() -> None:
    """Tests that a range upside down is refused."""
    with pytest.raises(MoneyError):
        Work(10, 20, 15)
