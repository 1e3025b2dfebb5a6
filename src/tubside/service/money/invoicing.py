"""Invoices and credit notes: numbered without gaps, appended, never changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from typing import cast

import msgspec
from sqlalchemy import Connection

from tubside.economics.billing import Line, Totals, credited, due_day, totals
from tubside.errors import MoneyError, NotThereError
from tubside.money.amounts import Rounding
from tubside.money.countries import rules_of
from tubside.money.tax import Level, TaxRules
from tubside.service.authors import Author
from tubside.service.money.content import BillContent, hash_of, sums, text_of
from tubside.service.money.quoting import head_of
from tubside.service.money.shop_money import ShopMoney, shop_money_in
from tubside.service.refs import check_ref, need_job
from tubside.store import money as rows
from tubside.store.money import BillRow
from tubside.store.opening import Store

INVOICES, CREDITS = "invoice", "credit"
PREFIX = {INVOICES: "", CREDITS: "C"}
"""What a number of each series begins with."""


@dataclass(frozen=True, slots=True)
class Buyer:
    """Who pays, as it stands on the invoice; ``reference`` is a claim or order number."""

    name: str
    address: str = ""
    reference: str = ""
    person: str | None = None


@dataclass(frozen=True, slots=True)
class Billed:
    """An invoice or a credit note as it was issued."""

    id: str
    job: str
    person: str | None
    corrects: str | None
    content: BillContent


def make_invoice(
    store: Store, job: str, author: Author, machine: str, buyer: Buyer, lines: Sequence[Line]
) -> Billed:
    """Issue an invoice under the next number; the same form sent again gives the same one.

    Deposits of the job count as paid before.

    Raises
    ------
    MoneyError
        When the lines cannot be, nobody is named, or something else has its id.
    """
    name, now = check_ref(author.fresh_id()), author.clock()
    _check_buyer(buyer)
    with store.writing() as opened:
        need_job(opened, job)
        there = _again(opened, name, job, INVOICES)
        if there is not None:
            return there
        told, day = shop_money_in(opened), now.astimezone().date()
        percent = told.percent_on(day)
        lines = _in_scope(told, lines)
        found = totals(lines, told.rules(), percent)
        prepaid = max(min(deposit_left(opened, job), found.taxed.total), 0)
        found = totals(lines, told.rules(), percent, prepaid)
        number = rows.next_number(opened, INVOICES)
        content = _content(told, buyer, lines, found, (f"{PREFIX[INVOICES]}{number}", machine, day))
        row = _issued(opened, (name, INVOICES, number), job, content, now)
        row = replace(row, person=buyer.person)
        rows.add(opened, row)
        return billed(row)


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


def deposit_left(opened: Connection, job: str) -> int:
    """Deposits of a job that no invoice has counted yet [cents]."""
    held = sum(p.cents for p in rows.payments(opened, job) if p.bill is None)
    issued = [billed(row).content for row in rows.bills(opened, job)]
    return held - sum(content.prepaid for content in issued)


def _check_buyer(buyer: Buyer) -> None:
    if not 1 <= len(buyer.name.strip()) <= 200:
        msg = "say who pays, in at most 200 characters"
        raise MoneyError(msg)
    if len(buyer.address) > 500 or len(buyer.reference) > 200:
        msg = "an address has at most 500 characters, a reference 200"
        raise MoneyError(msg)


def _in_scope(told: ShopMoney, lines: Sequence[Line]) -> Sequence[Line]:
    """Lines of a shop that charges no tax are outside its scope."""
    return lines if told.taxed else [replace(line, category="O") for line in lines]


def credit(
    store: Store, invoice: str, author: Author, chosen: Sequence[int], reason: str
) -> Billed:
    """Issue a credit note on lines of an invoice, under the next number of its own series.

    It is reckoned at the rate and by the rounding of the invoice.

    Raises
    ------
    MoneyError
        When a line was credited before, none is chosen, or no reason is given.
    NotThereError
        When there is no such invoice.
    """
    name, now = check_ref(author.fresh_id()), author.clock()
    if not 1 <= len(reason.strip()) <= 200:
        msg = "say why it is credited, in at most 200 characters"
        raise MoneyError(msg)
    with store.writing() as opened:
        was = rows.bill(opened, invoice)
        if was is None or was.series != INVOICES:
            msg = "there is no such invoice"
            raise NotThereError(msg)
        there = _again(opened, name, was.job, CREDITS)
        if there is not None:
            return there
        whole = billed(was).content
        lines = _credited(opened, was, whole, chosen)
        found = totals(lines, kept_rules(whole), Decimal(whole.head.percent))
        _check_cents(opened, was, -found.taxed.total)
        number = rows.next_number(opened, CREDITS)
        content = msgspec.structs.replace(
            whole,
            kind="credit",
            number=f"{PREFIX[CREDITS]}{number}",
            lines=list(lines),
            shares=list(found.taxed.shares),
            issued=now.astimezone().date(),
            due_on=now.astimezone().date(),
            corrects=whole.number,
            reason=reason.strip(),
            **sums(found),
        )
        row = _issued(opened, (name, CREDITS, number), was.job, content, now)
        row = replace(row, person=was.person, corrects=was.id)
        rows.add(opened, row)
        return billed(row)


def _credited(
    opened: Connection, was: BillRow, whole: BillContent, chosen: Sequence[int]
) -> tuple[Line, ...]:
    """The chosen lines taken back, but none that was taken back before."""
    left = list(whole.lines)
    wanted = list(credited(whole.lines, chosen))
    for note in rows.bills(opened, was.job):
        for line in billed(note).content.lines if note.corrects == was.id else []:
            left.remove(replace(line, quantity=-line.quantity))
    for line in wanted:
        back = replace(line, quantity=-line.quantity)
        if back not in left:
            msg = f"the line '{line.words}' was credited before"
            raise MoneyError(msg)
        left.remove(back)
    return tuple(wanted)


def _check_cents(opened: Connection, was: BillRow, total: int) -> None:
    """Parts of an invoice may round to a cent more than the whole: that cent is not given."""
    notes = [note for note in rows.bills(opened, was.job) if note.corrects == was.id]
    before = -sum(note.total for note in notes)
    if before + total > was.total + len(notes):
        msg = "more would be credited than was charged"
        raise MoneyError(msg)


def kept_rules(content: BillContent) -> TaxRules:
    """The tax rules that a bill was reckoned by."""
    rules, head = rules_of(content.head.country), content.head
    rounding, level = cast("Rounding", head.rounding), cast("Level", head.level)
    return replace(rules, rounding=rounding, level=level)


def _again(opened: Connection, name: str, job: str, series: str) -> Billed | None:
    """The bill that this very form made before."""
    there = rows.bill(opened, name)
    same = there is not None and (there.job, there.series) == (job, series)
    if rows.must_be_new(there, name, same=same) or there is None:
        return None
    return billed(there)


def _issued(
    opened: Connection,
    named: tuple[str, str, int],
    job: str,
    content: BillContent,
    now: datetime,
) -> BillRow:
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
    content = msgspec.json.decode(row.content, type=BillContent)
    return Billed(row.id, row.job, row.person, row.corrects, content)


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
