"""Papers of the demo shop: its country and prices, a test after repair, a quote, two invoices.

Everything is invented. The shop follows New Zealand's rules, so that somebody sees the test
after repair where it is a duty; its limits are confirmed by an invented copy and say so.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Final

import msgspec

from tubside.economics.billing import Line
from tubside.economics.price_book import PriceBook
from tubside.economics.quote import Work, first_lines, labour_line
from tubside.economics.warranty import Terms
from tubside.safety.profiles import limit_digest, load_profile
from tubside.service.attachments import add_words
from tubside.service.heeded import LIVE_TEST
from tubside.service.jobs import record
from tubside.service.money.invoicing import Buyer, Done, make_invoice
from tubside.service.money.paying import Paid, Way, pay
from tubside.service.money.quoting import Asked, answer_quote, machine_words, make_quote
from tubside.service.money.shop_money import ShopMoney, keep_shop_money, shop_money
from tubside.service.records import Body, CautionRead
from tubside.service.safety import decision, safety_of
from tubside.service.safety_records import ApplianceTold, SafetyLook, SafetyReading
from tubside.service.safety_settings import Confirmation, choose_country, confirm_limit
from tubside.service.viewing import view_of

if TYPE_CHECKING:
    from datetime import datetime

    from tubside.service.authors import Author
    from tubside.service.library import Library
    from tubside.service.views import JobView
    from tubside.store.opening import Store

COUNTRY: Final = "NZ"
COPY = "invented for the demo; look in your own copy"
METER = "bench tester 2 (invented)"
CALIBRATED, DUE = timedelta(days=120), timedelta(days=245)
"""How long before a test its instrument was calibrated, and how long after it that holds."""


class _Told(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Base: unknown keys are refused."""


class Part(_Told, frozen=True, kw_only=True):
    """A part on a quote or an invoice, and its price without tax [cents]."""

    words: str
    cents: int


class Tested(_Told, frozen=True, kw_only=True):
    """A test after repair that passes: who made it, the appliance, and two readings."""

    by: str
    licence: str
    appliance: ApplianceTold
    conductor: tuple[float, float]
    insulation: tuple[float, float]


class Quote(_Told, frozen=True, kw_only=True):
    """A quote as a range, agreed to on the technician's screen: low, average, high minutes."""

    minutes: tuple[float, float, float]
    parts: list[Part] = []


class Invoice(_Told, frozen=True, kw_only=True):
    """An invoice, and what was paid on it at once."""

    minutes: float
    parts: list[Part] = []
    paid: int = 0
    way: Way = "card"


def settle(store: Store, now: datetime) -> None:
    """Keep what a shop settles first: country, limits, name and prices."""
    choose_country(store, COUNTRY)
    profile = load_profile(COUNTRY).profile
    for name, limit in profile.limits.items():
        told = Confirmation(reference=COPY, by="Ida", at=now, digest=limit_digest(limit))
        confirm_limit(store, profile, name, told)
    keep_shop_money(
        store,
        ShopMoney(
            shop="Mill Lane Laundry Repairs",
            address="Mill Lane 2\nElverdale",
            telephone="01632 960100",
            email="desk@mill-lane.example",
            licence="E 000000 (invented)",
            tax_number="000-000-000 (invented)",
            country=COUNTRY,
            how_to_pay="By transfer to the account on our door, or by card at the machine.",
            book=PriceBook(call_out=41_74, diagnosis=30_00, deposit=Decimal(20)),
        ),
    )


def prove_it(store: Store, library: Library, job: str, author: Author, told: Tested) -> None:
    """Write a test after repair and its release, as the page does."""
    record(store, job, author, told.appliance)
    for item in safety_of(store, _seen(store, library, job)).rows:
        test = item.item
        if test.acknowledged:
            record(store, job, author, CautionRead(caution=LIVE_TEST, step=test.id, by="ida"))
        body: Body = SafetyLook(test=test.id, outcome="pass")
        if test.kind == "reading":
            value, doubt = told.conductor if test.id == "conductor" else told.insulation
            day = author.clock().date()
            body = SafetyReading(
                test=test.id,
                value=value,
                uncertainty=doubt,
                instrument=METER,
                calibrated=day - CALIBRATED,
                due=day + DUE,
            )
        record(store, job, author, body)
    ref = author.fresh_id()
    add_words(store, job, ref, f"{told.by}\n{told.licence}", author.clock())
    found = safety_of(store, _seen(store, library, job))
    record(store, job, author, decision(found, "released", None, ref))


def quote_it(store: Store, library: Library, job: str, author: Author, told: Quote) -> None:
    """Make a quote as a range and have it agreed to."""
    low, mean, high = told.minutes
    others = (*first_lines(shop_money(store).book, visited=False), *_parts(told.parts))
    asked = Asked("range", "day", others, Work(mean, low, high), mean)
    name = make_quote(store, _seen(store, library, job), author, asked)
    answer_quote(store, name, author, "screen", agreed=True)


def bill_it(store: Store, library: Library, job: str, author: Author, told: Invoice) -> None:
    """Issue an invoice, and keep what was paid on it."""
    view, book = _seen(store, library, job), shop_money(store).book
    labour = labour_line(book, "day", told.minutes, Terms().labour_days)
    lines = [*first_lines(book, visited=False), *_parts(told.parts)]
    lines += [] if labour is None else [labour]
    person = view.person
    data = None if person is None else person.data
    buyer = Buyer("" if data is None else data.name, "" if data is None else data.address)
    buyer = replace(buyer, person=None if person is None else person.ref)
    day = author.clock().astimezone().date()
    made = make_invoice(store, job, author, Done(machine_words(view), day), buyer, lines)
    if told.paid:
        pay(store, job, author, Paid(told.paid, told.way, day, made.id))


def _seen(store: Store, library: Library, job: str) -> JobView:
    return view_of(store, library, job, advised=False)


def _parts(parts: list[Part]) -> list[Line]:
    days = Terms().part_days
    return [Line("part", p.words, Decimal(1), "piece", p.cents, "S", days) for p in parts]
