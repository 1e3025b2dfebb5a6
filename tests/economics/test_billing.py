"""Lines, totals, credit notes, statements: the arithmetic rules of an invoice."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.economics.billing import Line, Move, Owed, credited, statement, totals
from tubside.errors import MoneyError
from tubside.money.countries import countries, rules_of
from tubside.money.tax import Category, Level

LINES = st.lists(
    st.builds(
        Line,
        kind=st.just("other"),
        words=st.just("Some work"),
        quantity=st.decimals("0.01", 40, places=4),
        unit=st.just("hour"),
        price=st.integers(0, 100_000),
        category=st.sampled_from(("S", "Z", "E")),
    ),
    min_size=1,
    max_size=10,
)
RATE = st.decimals(0, 25, places=2)
ONE = Line("part", "Drain pump", Decimal(1), "piece", 31_85, "S", 365)


@given(LINES, RATE, st.sampled_from(sorted(countries())), st.sampled_from(("total", "line")))
def test_the_rules_of_an_invoice(
    lines: list[Line], rate: Decimal, country: str, level: Level
) -> None:
    """Tests EN 16931-1:2017, 6.4: BR-CO-10, 13, 14, 15, 16 exactly, BR-CO-17 within its unit."""
    found = totals(lines, replace(rules_of(country), level=level), rate, prepaid=1234)
    assert found.taxed.net == sum(line.net for line in lines)  # BR-CO-10, BR-CO-13
    assert found.taxed.tax == sum(share.tax for share in found.taxed.shares)  # BR-CO-14
    assert found.taxed.total == found.taxed.net + found.taxed.tax  # BR-CO-15
    assert found.due == found.taxed.total - 1234  # BR-CO-16
    seen: list[Category] = [share.category for share in found.taxed.shares]
    assert len(seen) == len(set(seen))
    for share in found.taxed.shares:
        assert share.base == sum(x.net for x in lines if x.category == share.category)
        exact = share.base * share.percent / 100
        most = Decimal("0.5") if level == "total" else Decimal("0.5") * len(lines)
        assert abs(share.tax - exact) <= most <= 100  # BR-CO-17: within one unit of money


@given(LINES, RATE)
def test_a_whole_credit_leaves_nothing(lines: list[Line], rate: Decimal) -> None:
    """Tests that an invoice and the credit note on all its lines come to nought."""
    for rules in countries().values():
        plus = totals(lines, rules, rate).taxed.total
        minus = totals(credited(lines, range(len(lines))), rules, rate).taxed.total
        assert plus + minus == 0


def test_a_credit_of_some_lines() -> None:
    """Tests that the chosen lines alone are taken back, each once."""
    other = replace(ONE, words="Hose")
    assert credited([ONE, other], [1, 1]) == (replace(other, quantity=Decimal(-1)),)
    for wrong in ([], [2], [-1]):
        with pytest.raises(MoneyError, match="choose which lines"):
            credited([ONE, other], wrong)


@pytest.mark.parametrize(
    "wrong",
    [
        replace(ONE, words=" "),
        replace(ONE, words="a\nb"),
        replace(ONE, price=-1),
        replace(ONE, quantity=Decimal(0)),
        replace(ONE, quantity=Decimal(999_999), price=10**9),
    ],
)
def test_lines_that_cannot_be(wrong: Line) -> None:
    """Tests that a bill does not take a line without words, price or amount."""
    with pytest.raises(MoneyError):
        totals([wrong], rules_of("NZ"), Decimal(15))


def test_a_bill_needs_lines() -> None:
    """Tests that an empty bill and an endless one are refused."""
    for lines in ([], [ONE] * 61):
        with pytest.raises(MoneyError, match="1 to 60 lines"):
            totals(lines, rules_of("NZ"), Decimal(15))


def test_days_over() -> None:
    """Tests that a bill is over only after its day, and only while something is left."""
    owed, day = Owed(100, 20, 30, date(2026, 3, 1)), date(2026, 3, 11)
    assert (owed.left, owed.days_over(day), owed.days_over(date(2026, 3, 1))) == (50, 10, 0)
    assert replace(owed, paid=80).days_over(day) == 0
    assert replace(owed, paid=90).left == -10


@given(st.lists(st.tuples(st.integers(0, 60), st.integers(-9999, 9999)), max_size=20))
def test_a_statement_ends_with_what_is_open(moves: list[tuple[int, int]]) -> None:
    """Tests that wherever it begins, a statement ends with the sum of all moves."""
    start = date(2026, 1, 1)
    told = [Move(start + timedelta(days=days), "x", cents) for days, cents in moves]
    for since in (start, start + timedelta(days=30), start + timedelta(days=99)):
        before, lines = statement(told, since)
        assert (lines[-1][1] if lines else before) == sum(move.cents for move in told)
