"""The tax rules of the countries that are known, read from their file.

Where a state or a city sets the rate, as in the United States, the file holds none: the shop
writes its own.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal, InvalidOperation
from functools import cache
from pathlib import Path
from typing import Annotated

import msgspec
from msgspec import Meta

from tubside.errors import MoneyError, TaxFileError
from tubside.money.amounts import Rounding
from tubside.money.tax import DepositRule, DepositWay, Level, Rate, TaxRules
from tubside.strict_yaml import convert, read_file

FILE = Path(__file__).parent / "taxes.yaml"
Words = Annotated[str, Meta(min_length=1, max_length=300)]


class _Rate(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    since: date
    percent: Annotated[str, Meta(pattern=r"\A\d{1,2}(\.\d{1,4})?\Z")]
    source: Words
    known: Words


class _Deposit(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    way: DepositWay
    source: Words
    known: Words


class _Country(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    tax: Words
    number_name: Words
    currency: Annotated[str, Meta(pattern=r"\A[A-Z]{3}\Z")]
    rounding: Rounding
    level: Level
    cash_step: Annotated[int, Meta(ge=1, le=100)]
    source: Words
    known: Words
    rates: list[_Rate]
    deposit: _Deposit


@cache
def countries() -> dict[str, TaxRules]:
    """Country (ISO 3166-1) -> its rules, in the order of the file."""
    return read_countries(FILE)


def read_countries(file: Path) -> dict[str, TaxRules]:
    """The rules that a file holds.

    Raises
    ------
    TaxFileError
        Naming file and line of everything that is wrong.
    """
    found = convert(read_file(file, file.name, TaxFileError), dict[str, _Country], TaxFileError)
    return {name: _rules(name, one) for name, one in found.items()}


def _rules(name: str, one: _Country) -> TaxRules:
    rates = tuple(Rate(r.since, Decimal(r.percent), r.source, r.known) for r in one.rates)
    return TaxRules(
        country=name,
        tax=one.tax,
        number_name=one.number_name,
        currency=one.currency,
        rounding=one.rounding,
        level=one.level,
        cash_step=one.cash_step,
        rates=rates,
        source=one.source,
        known=one.known,
        deposit=DepositRule(one.deposit.way, one.deposit.source, one.deposit.known),
    )


def rules_of(country: str) -> TaxRules:
    """The rules of a country.

    Raises
    ------
    MoneyError
        When none are known of it.
    """
    found = countries().get(country)
    if found is None:
        msg = f"no tax rules are known for '{country[:10]}'; choose one of {', '.join(countries())}"
        raise MoneyError(msg)
    return found


def percent_of(text: str) -> Decimal:
    """A rate that was kept as text.

    Raises
    ------
    MoneyError
        When it is no number.
    """
    try:
        return Decimal(text)
    except InvalidOperation:
        msg = f"'{text[:20]}' is no rate in percent"
        raise MoneyError(msg) from None
