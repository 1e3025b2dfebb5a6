"""Credit notes: lines of an invoice taken back, each once, under numbers of their own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import cast

import msgspec
from sqlalchemy import Connection

from tubside.economics.billing import Line, credited, totals
from tubside.errors import MoneyError, NotThereError
from tubside.money.amounts import Rounding
from tubside.money.countries import rules_of
from tubside.money.tax import Level, TaxRules
from tubside.service.authors import Author
from tubside.service.money.content import BillContent, sums
from tubside.service.money.deposit_bills import check_not_taken_off
from tubside.service.money.invoicing import (
    CREDITS,
    INVOICES,
    PREFIX,
    Billed,
    again,
    billed,
    issued,
)
from tubside.service.refs import check_ref
from tubside.store import money as rows
from tubside.store.money import BillRow
from tubside.store.opening import Store


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
        there = again(opened, name, was.job, CREDITS)
        if there is not None:
            return there
        whole = billed(was).content
        check_not_taken_off(rows.bills(opened, was.job), was)
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
            prepaid_tax=0,
            received_on=None,
            deposits=[],
            **sums(found),
        )
        row = issued(opened, (name, CREDITS, number), was.job, content, now)
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
