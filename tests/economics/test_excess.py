"""Tests of an excess: its line has the wished total or the next lower, and nets add up."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tubside.economics.billing import Line, totals
from tubside.economics.excess import excess_line, taken_off
from tubside.errors import MoneyError
from tubside.money.countries import countries, rules_of

WORK = Line("labour", "Labour", Decimal("1.25"), "hour", 90_00)


@given(
    st.integers(1, 500_000),
    st.integers(1, 400_000),
    st.decimals(0, 30, places=2),
    st.sampled_from(sorted(countries())),
)
def test_both_bills_make_the_whole(price: int, excess: int, percent: Decimal, of: str) -> None:
    """Tests that nets add up exactly, totals to a cent, and the excess is met to two cents."""
    rules, lines = rules_of(of), [Line("part", "Pump", Decimal(1), "piece", price)]
    whole = totals(lines, rules, percent).taxed
    assume(excess < whole.total)
    part = excess_line(lines, rules, percent, excess, "Excess")
    own = totals([part], rules, percent).taxed
    rest = totals([*lines, taken_off(part, "Less")], rules, percent).taxed
    assert own.net + rest.net == whole.net
    assert abs(own.total + rest.total - whole.total) <= 1
    assert 0 <= excess - own.total <= 1 + (percent > 0)
    dearer = Line("other", "x", Decimal(1), "piece", part.price + 1)
    assert totals([dearer], rules, percent).taxed.total > excess


def test_what_cannot_be_split() -> None:
    """Tests that nought, the whole, and lines taxed unlike are refused."""
    rules = rules_of("NZ")
    whole = totals([WORK], rules, Decimal(15)).taxed.total
    for wrong in (0, whole, whole + 1):
        with pytest.raises(MoneyError, match="more than nought"):
            excess_line([WORK], rules, Decimal(15), wrong, "x")
    mixed = [WORK, Line("part", "Pump", Decimal(1), "piece", 100, "Z")]
    with pytest.raises(MoneyError, match="taxed unlike"):
        excess_line(mixed, rules, Decimal(15), 10, "x")
