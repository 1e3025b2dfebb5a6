"""Tax by country, day and rounding, and the file of the rules."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import MoneyError, TaxFileError
from tubside.money.amounts import rounded, shown, times, to_step, typed_cents, typed_number
from tubside.money.countries import FILE, countries, percent_of, read_countries, rules_of
from tubside.money.tax import Taxable, rate_on, tax_within, taxed

CENTS = st.integers(min_value=-10_000_000, max_value=10_000_000)
PERCENT = st.decimals(0, 30, places=3)


@pytest.mark.parametrize(
    ("country", "day", "percent"),
    [
        ("NZ", date(2010, 9, 30), "12.5"),
        ("NZ", date(2010, 10, 1), "15"),
        ("GB", date(2011, 1, 3), "17.5"),
        ("GB", date(2011, 1, 4), "20"),
        ("DE", date(2020, 6, 30), "19"),
        ("DE", date(2020, 12, 31), "16"),
        ("DE", date(2021, 1, 1), "19"),
    ],
)
def test_the_rate_of_a_day(country: str, day: date, percent: str) -> None:
    """Tests that a rate holds from its first day to the eve of the next one's."""
    assert rate_on(rules_of(country), day) == Decimal(percent)


@pytest.mark.parametrize(("country", "day"), [("US", date(2026, 1, 1)), ("GB", date(2009, 1, 1))])
def test_no_rate_is_said(country: str, day: date) -> None:
    """Tests that where no rate is known none is made up."""
    with pytest.raises(MoneyError, match="no rate of"):
        rate_on(rules_of(country), day)


def test_an_unknown_country_is_refused() -> None:
    """Tests that there are no rules for a country nobody wrote down."""
    with pytest.raises(MoneyError, match="choose one of NZ"):
        rules_of("ZZ")
    with pytest.raises(MoneyError):
        percent_of("much")


@given(st.lists(CENTS, min_size=1, max_size=12), PERCENT, st.sampled_from(sorted(countries())))
def test_shares_add_up(nets: list[int], percent: Decimal, country: str) -> None:
    """Tests that base, tax and total add up to the cent, and by total is within half of exact."""
    found = taxed([Taxable(net) for net in nets], rules_of(country), percent)
    assert found.net == sum(nets) == sum(share.base for share in found.shares)
    assert found.tax == sum(share.tax for share in found.shares)
    assert found.total == found.net + found.tax
    assert abs(found.tax - sum(nets) * percent / 100) <= Decimal("0.5")


@given(st.lists(CENTS, min_size=1, max_size=12), PERCENT)
def test_a_credit_is_minus_what_it_credits(nets: list[int], percent: Decimal) -> None:
    """Tests that no cent is left between lines and the same lines taken back."""
    for rules in countries().values():
        plus = taxed([Taxable(net) for net in nets], rules, percent)
        minus = taxed([Taxable(-net) for net in nets], rules, percent)
        assert (plus.net, plus.tax, plus.total) == (-minus.net, -minus.tax, -minus.total)


@given(CENTS, PERCENT)
def test_tax_within_is_tax_added(net: int, percent: Decimal) -> None:
    """Tests that the tax inside a total is within a cent of the tax that was added to make it."""
    tax = rounded(times(net, percent) / 100)
    assert abs(tax_within(net + tax, percent) - tax) <= 1


def test_only_the_standard_rate_is_taxed() -> None:
    """Tests that exempt lines have a share of their own without tax."""
    found = taxed([Taxable(100), Taxable(50, "E")], rules_of("DE"), Decimal(19))
    assert [(s.category, s.base, s.tax) for s in found.shares] == [("S", 100, 19), ("E", 50, 0)]


@given(CENTS)
def test_cents_read_back(cents: int) -> None:
    """Tests that an amount that is told is read as it was."""
    if cents >= 0:
        assert typed_cents(shown(cents)) == cents
    assert to_step(cents, 1) == cents
    assert abs(to_step(cents, 10) - cents) <= 5


@pytest.mark.parametrize("wrong", ["", "-1", "1.234", "1e3", "nan", "1,2,3", "½", "٣"])
def test_what_is_no_amount(wrong: str) -> None:
    """Tests that nothing is guessed from what is no amount."""
    with pytest.raises(MoneyError):
        typed_cents(wrong)
    if wrong != "1.234":
        with pytest.raises(MoneyError):
            typed_number(wrong, "number")


def test_a_wrong_file_tells_its_lines(tmp_path: Path) -> None:
    """Tests that a rule that cannot be is told with its line."""
    text = FILE.read_text(encoding="utf-8").replace("half-down", "somehow", 1)
    wrong = tmp_path / "taxes.yaml"
    wrong.write_text(text, encoding="utf-8")
    with pytest.raises(TaxFileError, match=r"taxes\.yaml:6"):
        read_countries(wrong)
