"""Quotes of a job: drawn up from the plan and the price book, shown, and answered once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

import msgspec
from sqlalchemy import Connection

from tubside.economics.billing import Line, totals
from tubside.economics.price_book import deposit_of, selling_price
from tubside.economics.quote import (
    Manner,
    Prices,
    Work,
    first_lines,
    labour_line,
    otherwise,
    price_range,
)
from tubside.economics.warranty import Terms
from tubside.errors import MoneyError, NotThereError
from tubside.money.amounts import rounded
from tubside.money.tax import TaxRules
from tubside.service.authors import Author
from tubside.service.money.content import (
    Head,
    QuoteContent,
    StopContent,
    hash_of,
    text_of,
)
from tubside.service.money.shop_money import ShopMoney, shop_money
from tubside.service.money_records import AnswerWay, QuoteAnswered, WorkStopped
from tubside.service.planning import ToldPlan
from tubside.service.records import Body
from tubside.service.refs import need_job
from tubside.service.views import JobView
from tubside.service.writing import append, made_here
from tubside.store import money as rows
from tubside.store.money import AnswerRow, QuoteRow
from tubside.store.opening import Store
from tubside.store.parts import offers

LIKELY = 0.5
"""A part the plan fits in at least this share of such jobs stands on the quote."""


@dataclass(frozen=True, slots=True)
class Quoted:
    """A quote as it was shown, and what was said to it."""

    id: str
    job: str
    content: QuoteContent
    answer: AnswerRow | None


@dataclass(frozen=True, slots=True)
class Draft:
    """What a quote would say: all lines but labour, and the minutes it is made from."""

    others: tuple[Line, ...]
    work: Work | None


def machine_words(view: JobView) -> str:
    """The machine as papers name it."""
    if view.known is None:
        return ""
    return view.known.panel.name if view.known.panel else view.known.pack.title


def head_of(told: ShopMoney, percent: Decimal) -> Head:
    """The head of a paper."""
    rules = told.rules()
    return Head(
        shop=told.shop,
        address=told.address,
        tax_number=told.tax_number,
        country=told.country,
        tax=rules.tax if told.taxed else "",
        currency=rules.currency,
        percent=str(percent),
        rounding=rules.rounding,
        level=told.level,
    )


def draft_of(store: Store, view: JobView, plan: ToldPlan | None) -> Draft:
    """Lines from price book, plan and stock: what the technician then changes."""
    told = shop_money(store)
    lines = first_lines(told.book, visited=False)
    if plan is None:
        return Draft(tuple(lines), None)
    likely = [part for part in plan.parts if part.chance >= LIKELY]
    buying = _buying(store, view, [part.id for part in likely])
    for part in likely:
        price = selling_price(told.book, buying[part.id])
        lines.append(Line("part", part.title, Decimal(1), "piece", price, "S", Terms().part_days))
    return Draft(tuple(lines), Work(plan.minutes, plan.minutes_low, plan.minutes_high))


def _buying(store: Store, view: JobView, kinds: Sequence[str]) -> dict[str, int]:
    """Buying price of each part kind [cents]: the shop's cheapest, else the pack's middle."""
    from tubside.service.parts.articles import articles_in, offers_now, serves  # noqa: PLC0415  # circle

    assert view.known is not None
    family, pack = view.known.pack.family, view.known.pack
    with store.reading() as opened:
        held, asked = articles_in(opened), offers_now(offers(opened))
    found = {}
    for kind in kinds:
        own = [
            asked[article.number][0].price
            for article in held
            if serves(article, family, kind) and asked.get(article.number)
        ]
        part = pack.parts[kind]
        middle = Decimal(str(part.price_low + part.price_high)) * 50
        found[kind] = min(own, default=rounded(middle))
    return found


@dataclass(frozen=True, slots=True)
class Asked:
    """What the technician set for a quote; ``minutes`` is the work of a fixed price."""

    manner: Manner
    band: str
    others: tuple[Line, ...]
    work: Work
    minutes: float


def make_quote(store: Store, view: JobView, author: Author, asked: Asked) -> str:
    """Keep a quote; its id. The same form sent again keeps one.

    Raises
    ------
    MoneyError
        When it cannot be reckoned so, or its id is taken.
    """
    told, now = shop_money(store), author.clock()
    content = quote_content(told, machine_words(view), asked, now)
    text, name = text_of(content), author.fresh_id()
    row = QuoteRow(name, view.id, "quote", text, hash_of(text), now)
    with store.writing() as opened:
        _add(opened, row)
    return name


def quote_content(told: ShopMoney, machine: str, asked: Asked, now: datetime) -> QuoteContent:
    """What the quote says, reckoned."""
    day = now.astimezone().date()
    percent = told.percent_on(day)
    tax = (told.rules(), percent)
    minutes = asked.minutes if asked.manner == "fixed" else asked.work.mean
    labour = labour_line(told.book, asked.band, minutes, Terms().labour_days)
    lines = [*asked.others, *([] if labour is None else [labour])]
    found = totals(lines, *tax).taxed
    if asked.manner == "fixed":
        prices = Prices(found.total, found.total, found.total, found.total)
    else:
        prices = price_range(told.book, asked.band, asked.work, asked.others, tax)
    return QuoteContent(
        head=head_of(told, percent),
        machine=machine,
        manner=asked.manner,
        lines=lines,
        prices=prices,
        tax=found.tax,
        deposit=deposit_of(told.book, prices.expected),
        otherwise=list(otherwise(asked.manner, ending_price(tax, asked.others))),
        dated=day,
        valid_until=day + timedelta(days=told.book.quote_days),
    )


def ending_price(tax: tuple[TaxRules, Decimal], others: Sequence[Line]) -> int:
    """What is owed when the job is ended: coming and finding the fault, with tax [cents]."""
    kept = [line for line in others if line.kind in {"call-out", "diagnosis"}]
    return totals(kept, *tax).taxed.total if kept else 0


def _add(opened: Connection, row: QuoteRow) -> None:
    need_job(opened, row.job)
    there = rows.quote(opened, row.id)
    same = there is not None and (there.job, there.content) == (row.job, row.content)
    if rows.must_be_new(there, row.id, same=same):
        rows.add(opened, row)


def quote(store: Store, name: str) -> Quoted:
    """One quote; NotThereError when there is none."""
    with store.reading() as opened:
        row = rows.quote(opened, name)
        if row is None or row.kind != "quote":
            msg = "there is no such quote"
            raise NotThereError(msg)
        return _quoted(opened, row)


def quotes_of(store: Store, job: str) -> list[Quoted]:
    """Quotes of a job, the latest first."""
    with store.reading() as opened:
        found = rows.quotes_of(opened, job)
        return [_quoted(opened, row) for row in found if row.kind == "quote"]


def open_quote(store: Store, job: str, day: date) -> QuoteContent | None:
    """The latest quote of a job, where it was agreed to, or may still be on a day."""
    for told in quotes_of(store, job)[:1]:
        if told.answer is not None:
            return told.content if told.answer.agreed else None
        return told.content if day <= told.content.valid_until else None
    return None


def _quoted(opened: Connection, row: QuoteRow) -> Quoted:
    content = msgspec.json.decode(row.content, type=QuoteContent)
    return Quoted(row.id, row.job, content, rows.answer(opened, row.id))


def answer_quote(
    store: Store, name: str, author: Author, way: AnswerWay, *, agreed: bool
) -> Quoted:
    """Keep what the customer said to a quote, once, and tell it on the job's line.

    Raises
    ------
    MoneyError
        When it was answered before, is past its last day, or a later one took its place.
    """
    now = author.clock()
    with store.writing() as opened:
        row = rows.quote(opened, name)
        if row is None or row.kind != "quote":
            msg = "there is no such quote"
            raise NotThereError(msg)
        _check_open(opened, row, now)
        content = msgspec.json.decode(row.content, type=QuoteContent)
        rows.add(opened, AnswerRow(name, agreed, way, now))
        most = content.prices.high
        body = QuoteAnswered(quote=name, agreed=agreed, amount_cents=most, way=way)
        _tell(opened, row.job, author, body)
        return _quoted(opened, row)


def _check_open(opened: Connection, row: QuoteRow, now: datetime) -> None:
    if rows.answer(opened, row.id) is not None:
        msg = "this quote was answered before; its answer stands"
        raise MoneyError(msg)
    content = msgspec.json.decode(row.content, type=QuoteContent)
    if now.astimezone().date() > content.valid_until:
        msg = f"this quote stood until {content.valid_until}; make a new one"
        raise MoneyError(msg)
    later = [one for one in rows.quotes_of(opened, row.job) if one.kind == "quote"]
    if later[0].id != row.id:
        msg = "a newer quote took the place of this one; answer that"
        raise MoneyError(msg)


def _tell(opened: Connection, job: str, author: Author, body: Body) -> None:
    _, made = made_here(opened, job, author, [body])
    append(opened, job, made)


def stop_work(store: Store, view: JobView, author: Author, content: StopContent) -> str:
    """Keep a note that work stopped, and tell it on the job's line; its id."""
    text, name, now = text_of(content), author.fresh_id(), author.clock()
    with store.writing() as opened:
        fresh = rows.quote(opened, name) is None
        _add(opened, QuoteRow(name, view.id, "stop-work", text, hash_of(text), now))
        if fresh:
            _tell(opened, view.id, author, WorkStopped(note=name))
    return name


def stops_of(store: Store, job: str) -> list[tuple[str, StopContent]]:
    """Stop-work notes of a job, the latest first."""
    with store.reading() as opened:
        found = [row for row in rows.quotes_of(opened, job) if row.kind == "stop-work"]
    return [(row.id, msgspec.json.decode(row.content, type=StopContent)) for row in found]
