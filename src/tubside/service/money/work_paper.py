"""Quote, stop-work note and statement as documents: what is printed and sent."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from tubside.documents.amounts import Currency
from tubside.documents.invoice import Payment
from tubside.documents.parties import Acceptance, DocumentMachine, Party
from tubside.documents.quote import Quote, QuoteLine
from tubside.documents.statement import Statement, StatementRow
from tubside.documents.stop_work import StopWork
from tubside.economics.billing import Move
from tubside.service.money.content import StopContent
from tubside.service.money.quoting import Quoted
from tubside.service.money.shop_money import ShopMoney
from tubside.service.money.shop_party import party_of, seller_of, with_contacts
from tubside.service.views import JobView

CHOICES = (
    "Have the work go on under a new quote.",
    "End it here.",
    "Ask somebody else.",
)
WAYS = {"link": "by the link", "screen": "on the technician's screen"}


def customer_of(view: JobView) -> Party:
    """The customer of a job; nobody where none was named, or the name was erased."""
    data = None if view.person is None else view.person.data
    return Party(name="") if data is None else party_of(data.name, data.address)


def quote_document(told: Quoted, view: JobView, shop: ShopMoney) -> Quote:
    """A quote as it was shown, with what was said to it."""
    content, head = told.content, told.content.head
    answer, customer = told.answer, customer_of(view)
    agreed = None
    if answer is not None and answer.agreed:
        when = f"{answer.answered_at.astimezone():%d %B %Y, %H:%M}"
        name = customer.name or "the customer"
        agreed = Acceptance(name=name, when=when, how=WAYS[answer.way], wording="I agree")
    prices = content.prices
    return Quote(
        number=told.id[:8].upper(),
        dated=content.dated,
        currency=Currency(head.currency),
        shop=seller_of(head, shop),
        customer=customer,
        expected=prices.expected,
        low=prices.low,
        high=prices.most_times,
        tax=content.tax,
        tax_text=f"{head.tax} at {float(head.percent):g} % in it" if head.tax else "",
        lines=tuple(
            QuoteLine(
                text=line.words,
                quantity=line.quantity,
                unit="h" if line.unit == "hour" else "",
                amount=line.net,
            )
            for line in content.lines
        ),
        valid_until=content.valid_until,
        machine=DocumentMachine(model=content.machine) if content.machine else None,
        otherwise=" ".join(content.otherwise),
        deposit=content.deposit,
        warranty=tuple(
            f"{line.words}: {line.warranty_days} days"
            for line in content.lines
            if line.warranty_days
        ),
        notes=("The lines are without tax.",) if head.tax else ("No tax is charged.",),
        acceptance=agreed,
    )


def stop_document(name: str, content: StopContent, view: JobView, shop: ShopMoney) -> StopWork:
    """A note that work stopped."""
    return StopWork(
        number=name[:8].upper(),
        dated=content.dated,
        currency=Currency(content.head.currency),
        shop=seller_of(content.head, shop),
        customer=customer_of(view),
        machine=DocumentMachine(model=content.machine),
        job=view.id[:8].upper(),
        cautions=() if content.usable else ("The machine must not be used.",),
        reason=content.reason,
        state=content.state,
        usable=content.usable,
        agreed=content.agreed,
        owed=content.owed,
        choices=CHOICES,
    )


def statement_document(
    shop: ShopMoney,
    customer: Party,
    days: tuple[date, date],
    before: int,
    moves: Sequence[Move],
) -> Statement:
    """What was charged and paid between two days, the last of them today."""
    first, last = days
    return Statement(
        dated=last,
        currency=Currency(shop.rules().currency),
        shop=with_contacts(party_of(shop.shop, shop.address, shop.country), shop),
        customer=customer,
        first=first,
        last=last,
        opening=before,
        rows=tuple(
            StatementRow(
                dated=move.day,
                text=move.words,
                charged=max(move.cents, 0),
                paid=max(-move.cents, 0),
            )
            for move in moves
        ),
        payment=Payment(
            terms=" ".join(shop.how_to_pay.split()), account_name=shop.shop, iban=shop.iban
        ),
    )
