"""Articles of the shop: what they are called, cost and fit."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal, get_args

import msgspec
from sqlalchemy import Connection

from tubside.errors import AttachmentError, NotThereError, StockError
from tubside.service.people import check_text
from tubside.service.refs import check_ref
from tubside.store import parts as kept
from tubside.store.opening import Store
from tubside.store.parts import FitRow, OfferRow, PartRow

NUMBER = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}")
KIND = re.compile(r"[a-z0-9_-]{1,60}/[a-z0-9_-]{1,60}")
LONGEST, MOST_CENTS, MOST_DAYS, MOST_ROOM = 120, 100_000_000, 730.0, 1000.0
ALLOTTED = "P-"
"""How the numbers begin that are allotted here."""

Sure = Literal["sure", "likely", "unsure", "no"]
FIT_CHANCE: Mapping[str, float] = {"sure": 0.99, "likely": 0.85, "unsure": 0.5, "no": 0.0}
"""Chance that a part fits, by how sure one is of it (common practice, no source)."""
UNKNOWN_FIT = 0.7
"""Chance that a part of the right kind fits where nobody said so (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Article:
    """A numbered article; ``kinds`` are family/part kind, ``room`` in any unit of room."""

    number: str
    title: str
    kinds: tuple[str, ...] = ()
    barcode: str = ""
    room: float = 1.0
    retired: bool = False


@dataclass(frozen=True, slots=True)
class Offer:
    """What a supplier asks for a part [cents] and how long it takes [days]."""

    supplier: str
    price: int
    lead_days: float
    code: str = ""


def keep_article(store: Store, article: Article, now: datetime) -> str:
    """Keep an article, new or changed; its number, allotted where none is given.

    Raises
    ------
    StockError
        When something of it is not taken.
    """
    with store.writing() as opened:
        return keep_article_in(opened, article, now)


def keep_article_in(opened: Connection, article: Article, now: datetime) -> str:
    """Keep an article inside a transaction; its number."""
    number = article.number.strip() or _next_number(opened)
    checked = check_article(replace(article, number=number))
    same = kept.with_barcode(opened, checked.barcode) if checked.barcode else []
    taken = [other for other in same if other != number]
    if taken:
        msg = f"the barcode {checked.barcode} is that of {taken[0]}; give this its own, or none"
        raise StockError(msg)
    kinds = msgspec.json.encode(sorted(checked.kinds)).decode()
    code = checked.barcode or None
    row = PartRow(number, checked.title, kinds, code, checked.room, checked.retired, now)
    kept.put_part(opened, row)
    return number


def check_article(article: Article) -> Article:
    """The article, trimmed.

    Raises
    ------
    StockError
        Naming what is wrong and how to mend it.
    """
    title, code = article.title.strip(), article.barcode.strip()
    if not NUMBER.fullmatch(article.number):
        msg = f"'{article.number}' is no number of a part; use up to 40 letters, digits, . _ -"
        raise StockError(msg)
    if not title:
        msg = f"the part {article.number} has no title; say what it is"
        raise StockError(msg)
    for what, text in (("title", title), ("barcode", code)):
        check_line(f"{what} of {article.number}", text)
    for kind in article.kinds:
        if not KIND.fullmatch(kind):
            msg = f"'{kind}' is no part kind; write family/kind, such as front_load/drain-pump"
            raise StockError(msg)
    if not 0.0 <= article.room <= MOST_ROOM:
        msg = f"the room of {article.number} is from 0 to {MOST_ROOM:g}"
        raise StockError(msg)
    return replace(article, title=title, barcode=code)


def check_line(what: str, text: str) -> str:
    """One short line of text; StockError where it is none."""
    try:
        check_text(what, text, LONGEST)
    except AttachmentError as wrong:
        raise StockError(str(wrong)) from None
    if "\n" in text or "\r" in text:
        msg = f"the {what} has several lines; write one"
        raise StockError(msg)
    return text


def keep_offer(store: Store, ref: str, number: str, offer: Offer, now: datetime) -> None:
    """Append what a supplier asks now; the latest of each supplier counts.

    Raises
    ------
    NotThereError
        When there is no such part.
    StockError
        When the price or the time is not taken.
    """
    with store.writing() as opened:
        keep_offer_in(opened, ref, number, offer, now)


def keep_offer_in(opened: Connection, ref: str, number: str, offer: Offer, now: datetime) -> None:
    """Append an offer inside a transaction."""
    need_part(opened, number)
    check_offer(offer)
    row = OfferRow(
        check_ref(ref),
        number,
        offer.supplier.strip(),
        offer.code.strip(),
        offer.price,
        offer.lead_days,
        now,
    )
    kept.add(opened, row)


def check_offer(offer: Offer) -> None:
    """Refuse an offer that cannot be; StockError says why."""
    if not check_line("supplier", offer.supplier.strip()):
        msg = "say which supplier asks this price"
        raise StockError(msg)
    check_line("supplier's number", offer.code)
    if not 0 <= offer.price <= MOST_CENTS:
        msg = "a price is from nothing to a million"
        raise StockError(msg)
    if not 0.0 <= offer.lead_days <= MOST_DAYS:
        msg = f"an order takes from 0 to {MOST_DAYS:g} days"
        raise StockError(msg)


def keep_fit(store: Store, ref: str, fit: tuple[str, str, Sure], now: datetime) -> None:
    """Append how surely a part fits a model or a family: (number, model, how sure).

    Raises
    ------
    NotThereError
        When there is no such part.
    StockError
        When it is not said how sure.
    """
    number, model, sure = fit
    if sure not in get_args(Sure) or not check_line("model", model.strip()):
        msg = "say which model, and whether it fits: sure, likely, unsure or no"
        raise StockError(msg)
    with store.writing() as opened:
        need_part(opened, number)
        kept.add(opened, FitRow(check_ref(ref), number, model.strip(), sure, now))


def need_part(opened: Connection, number: str) -> Article:
    """An article; NotThereError when there is none of this number."""
    row = kept.part(opened, number)
    if row is None:
        msg = f"there is no part {number!a}"
        raise NotThereError(msg)
    return article_of(row)


def article_of(row: PartRow) -> Article:
    """An article as it is kept."""
    kinds = tuple(msgspec.json.decode(row.kinds, type=list[str]))
    return Article(row.number, row.title, kinds, row.barcode or "", row.room, row.retired)


def articles_in(opened: Connection) -> list[Article]:
    """Every article, by number."""
    return [article_of(row) for row in kept.all_parts(opened)]


def offers_now(rows: Iterable[OfferRow]) -> dict[str, list[OfferRow]]:
    """Part -> the latest offer of each supplier, the cheapest first."""
    latest = {(row.part, row.supplier): row for row in rows}
    found: dict[str, list[OfferRow]] = {}
    for row in sorted(latest.values(), key=lambda r: (r.price, r.lead_days, r.supplier)):
        found.setdefault(row.part, []).append(row)
    return found


def serves(article: Article, family: str, kind: str) -> bool:
    """Whether an article is of a part kind of a family, and still bought."""
    return not article.retired and f"{family}/{kind}" in article.kinds


def _next_number(opened: Connection) -> str:
    taken: Collection[str] = [row.number for row in kept.all_parts(opened)]
    counts = [int(n[2:]) for n in taken if n.startswith(ALLOTTED) and n[2:].isdigit()]
    return f"{ALLOTTED}{max(counts, default=0) + 1:04}"
