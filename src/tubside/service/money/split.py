"""One job on two invoices: the customer's excess, and the rest for whoever else pays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tubside.economics.billing import Line
from tubside.economics.excess import excess_line, taken_off
from tubside.service.authors import Author
from tubside.service.money.invoicing import (
    INVOICES,
    Billed,
    Buyer,
    Done,
    Wanted,
    again,
    check_buyer,
    in_scope,
    issue_in,
)
from tubside.service.money.shop_money import shop_money_in
from tubside.service.refs import check_ref, need_job
from tubside.store.opening import Store


@dataclass(frozen=True, slots=True)
class Split:
    """Who pays what: the customer the excess [cents, with tax], the payer the rest."""

    payer: Buyer
    customer: Buyer
    excess: int


def make_two_invoices(
    store: Store, job: str, author: Author, done: Done, split: Split, lines: Sequence[Line]
) -> tuple[Billed, Billed]:
    """Issue the customer's invoice and the payer's, both or none; the same form gives the same.

    Deposits come off the customer's. The two nets add up to that of the lines; with the tax
    of each rounded by itself the totals may differ from the whole by a cent.

    Raises
    ------
    MoneyError
        When the lines or the excess cannot be, or somebody is not named.
    """
    first, second = check_ref(author.fresh_id()), check_ref(author.fresh_id())
    now = author.clock()
    check_buyer(split.payer)
    check_buyer(split.customer)
    with store.writing() as opened:
        need_job(opened, job)
        there = again(opened, first, job, INVOICES), again(opened, second, job, INVOICES)
        if there[0] is not None and there[1] is not None:
            return there[0], there[1]
        told = shop_money_in(opened)
        lines = in_scope(told, lines)
        words = f"Your excess; the rest of the job is paid by {split.payer.name.strip()}"[:200]
        percent = told.percent_on(now.astimezone().date())
        part = excess_line(lines, told.rules(), percent, split.excess, words)
        own = issue_in(opened, Wanted(first, job, done, split.customer, (part,)), now)
        words = f"Less the customer's excess, on invoice {own.content.number}"
        rest = Wanted(
            name=second,
            job=job,
            done=done,
            buyer=split.payer,
            lines=(*lines, taken_off(part, words)),
            deposits=False,
            done_for=split.customer.name.strip(),
        )
        return own, issue_in(opened, rest, now)
