"""The price book and the tax of the shop, for the office to change."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from tubside.economics.price_book import Band, PriceBook
from tubside.errors import MoneyError
from tubside.money.amounts import shown, typed_cents, typed_number
from tubside.money.countries import countries
from tubside.service.money.shop_money import ShopMoney, keep_shop_money, shop_money
from tubside.service.public_address import keep_public_address, public_address
from tubside.service.roles import check_office
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.security.login_page import session_in

MOST_BANDS = 6
FIELDS = (
    "shop",
    "telephone",
    "email",
    "licence",
    "tax_number",
    "country",
    "own_percent",
    "level",
    "iban",
)


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """All that is settled."""
    _check(request)
    told = shop_money(desk.store)
    values = {"told": told, "book": told.book, "countries": countries(), "shown": shown}
    values["outside"] = public_address(desk.store)
    return desk.render(request, "money_settings.html", values, 200)


def _check(request: Request) -> None:
    session = session_in(request)
    check_office(None if session is None else session.user, "change prices and tax")


def keep(desk: Desk, request: Request, form: Form) -> Response:
    """Keep it."""
    _check(request)
    fields: dict[str, Any] = {name: form.one(name) for name in FIELDS}
    fields |= {name: form.one(name).replace("\r\n", "\n") for name in ("address", "how_to_pay")}
    fields["iban"] = fields["iban"].replace(" ", "").upper()
    taxed = form.one("taxed") == "yes"
    keep_public_address(desk.store, form.one("outside"))
    keep_shop_money(desk.store, ShopMoney(**fields, taxed=taxed, book=_book(form)))
    return go("/money/settings")


def _book(form: Form) -> PriceBook:
    return PriceBook(
        call_out=typed_cents(form.one("call_out")),
        diagnosis=typed_cents(form.one("diagnosis")),
        bands=tuple(_bands(form)),
        step_minutes=int(_whole(form, "step_minutes")),
        least_minutes=int(_whole(form, "least_minutes")),
        parts_margin=typed_number(form.one("parts_margin"), "percentage"),
        deposit=typed_number(form.one("deposit"), "percentage"),
        quote_days=int(_whole(form, "quote_days")),
        terms_days=int(_whole(form, "terms_days")),
    )


def _whole(form: Form, name: str) -> Decimal:
    found = typed_number(form.one(name), "whole number")
    if found != found.to_integral_value():
        msg = f"'{form.one(name)[:20]}' is no whole number"
        raise MoneyError(msg)
    return found


def _bands(form: Form) -> list[Band]:
    titles, prices = (form.fields.get(name, []) for name in ("band_title", "band_price"))
    if len(titles) != len(prices) or len(titles) > MOST_BANDS:
        msg = "a rate of labour lacks its price; open the page again"
        raise MoneyError(msg)
    told = [(title.strip(), price) for title, price in zip(titles, prices, strict=True)]
    named = [(title, price) for title, price in told if title]
    return [
        Band(f"band-{at}", title[:80], typed_cents(price))
        for at, (title, price) in enumerate(named, 1)
    ]
