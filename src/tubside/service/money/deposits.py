"""An invoice for a deposit itself, where its tax falls due with it."""

from __future__ import annotations

from tubside.economics.excess import line_of_total
from tubside.errors import MoneyError
from tubside.service.authors import Author
from tubside.service.money.invoicing import (
    INVOICES,
    Billed,
    Buyer,
    Done,
    Wanted,
    again,
    issue_in,
)
from tubside.service.money.shop_money import ShopMoney, shop_money_in
from tubside.service.refs import check_ref, need_job
from tubside.store.opening import Store


def invoices_deposits(told: ShopMoney) -> bool:
    """Whether tax within a deposit is due when it comes in, so that it may have an invoice.

    Where that of the whole price is due then, the invoice of the work is written at once.
    """
    rule = told.rules().deposit
    return told.taxed and rule is not None and rule.way == "with-deposit"


def make_deposit_invoice(
    store: Store, job: str, author: Author, done: Done, buyer: Buyer, cents: int
) -> Billed:
    """Issue an invoice for a deposit of a sum with tax, under the next number.

    What came in as a deposit already counts as paid on it. Where no whole net amount gives just
    the sum, it is a cent or two lower. The same form sent again gives the same invoice.

    Raises
    ------
    MoneyError
        When the country taxes no deposit by itself, the sum cannot be, or nobody is named.
    """
    name, now = check_ref(author.fresh_id()), author.clock()
    with store.writing() as opened:
        need_job(opened, job)
        there = again(opened, name, job, INVOICES)
        if there is not None:
            return there
        told = shop_money_in(opened)
        if not invoices_deposits(told):
            msg = "no tax is due on a deposit alone here; write the invoice of the work instead"
            raise MoneyError(msg)
        percent = told.percent_on(now.astimezone().date())
        words = f"Deposit on work to come: {done.machine}"[:200] if done.machine else "Deposit"
        line = line_of_total("S", told.rules(), percent, cents, words)
        wanted = Wanted(name, job, done, buyer, (line,), for_deposit=True)
        return issue_in(opened, wanted, now)
