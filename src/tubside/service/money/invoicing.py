"""Invoices: numbered without gaps, appended, never changed; and how bills are kept."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

import msgspec
from sqlalchemy import Connection

from tubside.economics.billing import Line, Totals, due_day, totals
from tubside.errors import MoneyError, NotThereError
from tubside.money.tax import tax_in_deposit
from tubside.service.authors import Author
from tubside.service.money.content import BillContent, DepositTaken, hash_of, text_of
from tubside.service.money.deposit_bills import (
    came_in_on,
    content_of,
    deposit_left,
    to_take_off,
)
from tubside.service.money.quoting import head_of
from tubside.service.money.shop_money import ShopMoney, shop_money_in
from tubside.service.refs import check_ref, need_job
from tubside.store import money as rows
from tubside.store.money import BillRow
from tubside.store.opening import Store

INVOICES, CREDITS = "invoice", "credit"
COUNTRY = re.compile(r"[A-Z]{2}")
PREFIX = {INVOICES: "", CREDITS: "C"}
"""What a number of each series begins with."""


@dataclass(frozen=True, slots=True)
class Buyer:
    """Who pays, as it stands on the invoice; ``reference`` is a claim or order number.

    ``country`` is two letters of ISO 3166-1; "" for the shop's own.
    """

    name: str
    address: str = ""
    reference: str = ""
    person: str | None = None
    country: str = ""


@dataclass(frozen=True, slots=True)
class Done:
    """What the work was done on, in words, and on which day where that was told."""

    machine: str
    on: date | None = None


@dataclass(frozen=True, slots=True)
class Billed:
    """An invoice or a credit note as it was issued."""

    id: str
    job: str
    person: str | None
    corrects: str | None
    content: BillContent


def make_invoice(
    store: Store, job: str, author: Author, done: Done, buyer: Buyer, lines: Sequence[Line]
) -> Billed:
    """Issue an invoice under the next number; the same form sent again gives the same one.

    Deposits of the job count as paid before.

    Raises
    ------
    MoneyError
        When the lines cannot be, nobody is named, or something else has its id.
    """
    name, now = check_ref(author.fresh_id()), author.clock()
    with store.writing() as opened:
        need_job(opened, job)
        there = again(opened, name, job, INVOICES)
        if there is not None:
            return there
        return issue_in(opened, Wanted(name, job, done, buyer, tuple(lines)), now)


@dataclass(frozen=True, slots=True)
class Wanted:
    """An invoice to be issued; ``deposits`` tells whether deposits of the job come off it.

    ``for_deposit``: it charges one, so that none with an invoice of its own comes off.
    """

    name: str
    job: str
    done: Done
    buyer: Buyer
    lines: tuple[Line, ...]
    deposits: bool = True
    done_for: str = ""
    for_deposit: bool = False


def issue_in(opened: Connection, wanted: Wanted, now: datetime) -> Billed:
    """Issue an invoice in a transaction that is open.

    Raises
    ------
    MoneyError
        When the lines cannot be, or nobody is named.
    """
    check_buyer(wanted.buyer)
    told, day = shop_money_in(opened), now.astimezone().date()
    rules, percent = told.rules(), told.percent_on(day)
    lines = in_scope(told, wanted.lines)
    found = totals(lines, rules, percent)
    taken = to_take_off(opened, wanted.job) if wanted.deposits and not wanted.for_deposit else []
    invoiced = sum(one.total for one in taken)
    held = deposit_left(opened, wanted.job) if wanted.deposits else 0
    free = max(min(held, found.taxed.total - invoiced), 0)
    prepaid = invoiced + free
    found = totals(lines, rules, percent, prepaid)
    number = rows.next_number(opened, INVOICES)
    named = (f"{PREFIX[INVOICES]}{number}", wanted.done.machine, day)
    content = _content(told, wanted.buyer, lines, found, named)
    content = msgspec.structs.replace(
        content,
        done_for=wanted.done_for,
        done_on=wanted.done.on,
        **_before(told, day, free, taken, for_deposit=wanted.for_deposit),
    )
    if wanted.for_deposit and free:
        came = came_in_on(opened, wanted.job)
        content = msgspec.structs.replace(content, received_on=came)
    row = issued(opened, (wanted.name, INVOICES, number), wanted.job, content, now)
    row = replace(row, person=wanted.buyer.person)
    rows.add(opened, row)
    return billed(row)


def _before(
    told: ShopMoney, day: date, free: int, taken: list[DepositTaken], *, for_deposit: bool
) -> dict[str, object]:
    """What a content says of deposits; tax that fell due with one is none of its own invoice."""
    due = tax_in_deposit(told.rules(), told.percent_on(day), free) if told.taxed else 0
    return {
        "for_deposit": for_deposit,
        "deposits": taken,
        "prepaid_tax": 0 if for_deposit else due + sum(one.tax for one in taken),
    }


def _content(
    told: ShopMoney,
    buyer: Buyer,
    lines: Sequence[Line],
    found: Totals,
    named: tuple[str, str, date],
) -> BillContent:
    number, machine, day = named
    return BillContent(
        kind="invoice",
        number=number,
        head=head_of(told, told.percent_on(day)),
        buyer=buyer.name.strip(),
        buyer_address=buyer.address,
        buyer_reference=buyer.reference,
        buyer_country=buyer.country,
        machine=machine,
        lines=list(lines),
        shares=list(found.taxed.shares),
        net=found.taxed.net,
        tax=found.taxed.tax,
        total=found.taxed.total,
        prepaid=found.prepaid,
        due=found.due,
        issued=day,
        due_on=due_day(day, told.book.terms_days),
        how_to_pay=told.how_to_pay,
        iban=told.iban,
    )


def check_buyer(buyer: Buyer) -> None:
    """Refuse who cannot stand on an invoice; MoneyError naming what is wrong."""
    if not 1 <= len(buyer.name.strip()) <= 200:
        msg = "say who pays, in at most 200 characters"
        raise MoneyError(msg)
    if len(buyer.address) > 500 or len(buyer.reference) > 200:
        msg = "an address has at most 500 characters, a reference 200"
        raise MoneyError(msg)
    if buyer.country and not COUNTRY.fullmatch(buyer.country):
        msg = f"'{buyer.country[:20]}' is no country; write its two letters, such as NZ"
        raise MoneyError(msg)


def in_scope(told: ShopMoney, lines: Sequence[Line]) -> Sequence[Line]:
    """Lines of a shop that charges no tax are outside its scope."""
    return lines if told.taxed else [replace(line, category="O") for line in lines]


def again(opened: Connection, name: str, job: str, series: str) -> Billed | None:
    """The bill that this very form made before."""
    there = rows.bill(opened, name)
    same = there is not None and (there.job, there.series) == (job, series)
    if rows.must_be_new(there, name, same=same) or there is None:
        return None
    return billed(there)


def issued(
    opened: Connection,
    named: tuple[str, str, int],
    job: str,
    content: BillContent,
    now: datetime,
) -> BillRow:
    """The row of a bill by id, series and number, with the hash of the one before in its own."""
    name, series, number = named
    text = text_of(content)
    earlier = rows.numbered(opened, series, number - 1)
    return BillRow(
        id=name,
        series=series,
        number=number,
        job=job,
        person=None,
        corrects=None,
        content=text,
        hash=hash_of(text, "" if earlier is None else earlier.hash),
        total=content.total,
        due_on=content.due_on.isoformat(),
        issued_at=now,
    )


def billed(row: BillRow) -> Billed:
    """A row, read."""
    return Billed(row.id, row.job, row.person, row.corrects, content_of(row))


def bill(store: Store, name: str) -> Billed:
    """One invoice or credit note; NotThereError when there is none."""
    with store.reading() as opened:
        row = rows.bill(opened, name)
    if row is None:
        msg = "there is no such invoice"
        raise NotThereError(msg)
    return billed(row)


def bills_of(store: Store, job: str | None = None) -> list[Billed]:
    """Invoices and credit notes of a job, or all, as issued."""
    with store.reading() as opened:
        return [billed(row) for row in rows.bills(opened, job)]


def check_bills(store: Store) -> list[str]:
    """What is wrong with the books: a number that is missing, or a bill that was altered.

    Empty when every series counts from 1 to its last number and every hash fits.
    """
    wrong = []
    with store.reading() as opened:
        found = rows.bills(opened)
    for series in (INVOICES, CREDITS):
        before, last = "", 0
        for row in sorted((r for r in found if r.series == series), key=lambda r: r.number):
            wrong += [f"{series} {n} is missing" for n in range(last + 1, row.number)]
            if row.hash != hash_of(row.content, before):
                wrong.append(f"{series} {row.number} does not hold what was issued")
            before, last = row.hash, row.number
    return wrong
