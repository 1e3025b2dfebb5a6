"""What the shop has settled: its name and how it is reached, its tax, its price book."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Annotated, Literal

import msgspec
from msgspec import Meta
from sqlalchemy import Connection

from tubside.economics.price_book import PriceBook
from tubside.errors import MoneyError
from tubside.money.countries import rules_of
from tubside.money.tax import Level, TaxRules, rate_on
from tubside.store.opening import Store
from tubside.store.settings import keep_setting, setting

NAME = "money"
Short = Annotated[str, Meta(max_length=200, pattern=r"\A[^\x00-\x1f\x7f]*\Z")]
Long = Annotated[str, Meta(max_length=500, pattern=r"\A[^\x00-\x09\x0b-\x1f\x7f]*\Z")]


class ShopMoney(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """As it is kept.

    ``taxed`` is whether the shop is registered and charges tax. ``own_percent`` is a rate of
    its own, as a state or a city sets it, in place of the country's.
    """

    shop: Short = ""
    address: Long = ""
    telephone: Short = ""
    email: Short = ""
    licence: Short = ""
    tax_number: Short = ""
    country: Literal["NZ", "AU", "GB", "DE", "US"] = "NZ"
    taxed: bool = True
    own_percent: Annotated[str, Meta(pattern=r"\A(\d{1,2}([.,]\d{1,4})?)?\Z")] = ""
    level: Level = "total"
    how_to_pay: Long = ""
    iban: Annotated[str, Meta(pattern=r"\A([A-Z]{2}[0-9]{2}[A-Z0-9]{11,30})?\Z")] = ""
    book: PriceBook = PriceBook()

    def rules(self) -> TaxRules:
        """The country's rules, rounded as the shop does."""
        return replace(rules_of(self.country), level=self.level)

    def percent_on(self, day: date) -> Decimal:
        """The rate on a day [%]: nought where the shop charges no tax.

        Raises
        ------
        MoneyError
            When no rate is known for the day and the shop set none.
        """
        if not self.taxed:
            return Decimal(0)
        if self.own_percent:
            return Decimal(self.own_percent.replace(",", "."))
        return rate_on(rules_of(self.country), day)


def shop_money(store: Store) -> ShopMoney:
    """What is settled, or what stands where nothing was."""
    with store.reading() as opened:
        return shop_money_in(opened)


def shop_money_in(opened: Connection) -> ShopMoney:
    """The same, read in a transaction."""
    kept = setting(opened, NAME)
    return ShopMoney() if kept is None else msgspec.json.decode(kept, type=ShopMoney)


def keep_shop_money(store: Store, told: ShopMoney) -> None:
    """Keep it, checked; what was shown before stays as it was shown.

    Raises
    ------
    MoneyError
        When a field holds what it cannot.
    """
    text = msgspec.json.encode(told)
    try:
        msgspec.json.decode(text, type=ShopMoney)
    except msgspec.ValidationError as wrong:
        msg = f"this cannot be kept: {wrong}"
        raise MoneyError(msg) from None
    with store.writing() as opened:
        keep_setting(opened, NAME, text.decode())
