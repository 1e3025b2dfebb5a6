"""Money of a job: quotes, deposit, payments, a note that work stopped; and what is owed."""

from __future__ import annotations

from datetime import date

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import MoneyError, NotThereError
from tubside.money.amounts import shown, typed_cents
from tubside.money.tax import tax_in_deposit
from tubside.service.money.content import StopContent
from tubside.service.money.deposits import invoices_deposits
from tubside.service.money.invoicing import bills_of
from tubside.service.money.paying import (
    WAYS,
    Paid,
    free_deposit,
    open_bills,
    pay,
    payments_of,
    statement_of,
    take_payment_back,
)
from tubside.service.money.quoting import (
    head_of,
    machine_words,
    quotes_of,
    stop_work,
    stops_of,
)
from tubside.service.money.shop_money import ShopMoney, shop_money
from tubside.service.money.shop_party import party_of
from tubside.service.money.work_paper import statement_document, stop_document
from tubside.service.people import read_person
from tubside.web.pages.bill_lines import typed_day
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.pdf import pdf_answer

TEXT = 300


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """All money of a job."""
    view, today = desk.view(request.path_params["job"]), desk.clock().astimezone().date()
    paid, told = payments_of(desk.store, view.id), shop_money(desk.store)
    values = {
        "view": view,
        "quotes": quotes_of(desk.store, view.id),
        "stops": stops_of(desk.store, view.id),
        "open": open_bills(desk.store, today, view.id),
        "credits": [b for b in bills_of(desk.store, view.id) if b.corrects],
        "paid": paid,
        "taken": {one.reverses for one in paid},
        "deposit": free_deposit(desk.store, view.id),
        "ways": WAYS,
        "today": today.isoformat(),
        "shown": shown,
        "currency": told.rules().currency,
        "invoices_deposits": invoices_deposits(told),
        "deposit_tax": deposit_words(told, free_deposit(desk.store, view.id), today),
    }
    return desk.render(request, "money.html", values, 200)


def deposit_words(told: ShopMoney, cents: int, day: date) -> str:
    """What the shop's country wants of a deposit, and where that stands; "" without a tax."""
    rules = told.rules()
    if not told.taxed or rules.deposit is None:
        return ""
    tax = rules.tax
    said = {
        "with-deposit": f"{tax} on a deposit is due for the period in which it came in",
        "whole-with-deposit": f"A deposit makes the {tax} of the whole price due for the period "
        "in which it came in, unless the shop accounts by payments",
        "with-invoice": f"{tax} is due with the invoice",
    }[rules.deposit.way]
    if cents and rules.deposit.way == "with-deposit":
        said += f": {shown(tax_in_deposit(rules, told.percent_on(day), cents))} in this one"
    return f"{said}. {rules.deposit.source} ({rules.deposit.known})."


def keep(desk: Desk, request: Request, form: Form) -> Response:
    """Keep one of the forms of the page."""
    job, author = request.path_params["job"], desk.author(form.one("once"))
    match form.one("do"):
        case "pay" | "pay-back":
            pay(desk.store, job, author, _paid(form))
        case "take-back":
            take_payment_back(desk.store, job, author, form.one("payment"))
        case "stop":
            name = stop_work(desk.store, desk.view(job), author, _stopped(desk, job, form))
            return go(f"/jobs/{job}/stops/{name}")
        case _:
            msg = "nothing was told here; choose one of the buttons"
            raise MoneyError(msg)
    return go(f"/jobs/{job}/money")


def _paid(form: Form) -> Paid:
    way = form.one("way")
    if way not in WAYS:
        msg = "choose how it was paid"
        raise MoneyError(msg)
    day = typed_day(form.one("day"), "payment")
    cents = typed_cents(form.one("amount"))
    back = form.one("do") == "pay-back"
    return Paid(cents, way, day, form.one("bill") or None, back)


def _stopped(desk: Desk, job: str, form: Form) -> StopContent:
    told, today = shop_money(desk.store), desk.clock().astimezone().date()
    reason, state = form.one("reason"), form.one("state")
    if not (1 <= len(reason) <= TEXT and 1 <= len(state) <= TEXT):
        msg = f"say why work stopped and how the machine was left, in at most {TEXT} characters"
        raise MoneyError(msg)
    agreed = [q for q in quotes_of(desk.store, job) if q.answer and q.answer.agreed]
    return StopContent(
        head=head_of(told, told.percent_on(today)),
        machine=machine_words(desk.view(job)),
        reason=reason,
        state=state,
        usable=form.one("usable") == "yes",
        agreed=agreed[0].content.prices.high if agreed else 0,
        owed=typed_cents(form.one("owed") or "0"),
        dated=today,
    )


def stopped(desk: Desk, request: Request, _form: Form) -> Response:
    """A stop-work note, to be shown and printed."""
    view = desk.view(request.path_params["job"])
    found = dict(stops_of(desk.store, view.id)).get(request.path_params["note"])
    if found is None:
        msg = "there is no such note"
        raise NotThereError(msg)
    if request.query_params.get("as") == "pdf":
        from tubside.documents.work_papers import stop_work_pdf  # noqa: PLC0415  # loads the typesetter

        name = request.path_params["note"]
        paper = stop_document(name, found, view, shop_money(desk.store))
        return pdf_answer(stop_work_pdf(paper), "stop-work")
    values = {"view": view, "content": found, "shown": shown}
    return desk.render(request, "stop_work.html", values, 200)


def owed(desk: Desk, request: Request, _form: Form) -> Response:
    """What is owed, the longest over first."""
    found = open_bills(desk.store, desk.clock().astimezone().date())
    sums: dict[str, int] = {}
    for one in found:
        sums[one.age] = sums.get(one.age, 0) + one.owed.left
    currency = shop_money(desk.store).rules().currency
    values = {"open": found, "sums": sums, "shown": shown, "currency": currency}
    return desk.render(request, "owed.html", values, 200)


def statement(desk: Desk, request: Request, _form: Form) -> Response:
    """A statement of one payer since the first day of the year, or another day."""
    person = read_person(desk.store, request.path_params["person"])
    today = desk.clock().astimezone().date()
    try:
        since = date.fromisoformat(request.query_params.get("since", f"{today.year}-01-01"))
    except ValueError:
        since = today
    before, moves = statement_of(desk.store, person.ref, since)
    if request.query_params.get("as") == "pdf":
        from tubside.documents.statement_paper import statement_pdf  # noqa: PLC0415  # loads the typesetter

        data, told = person.data, shop_money(desk.store)
        customer = party_of("" if data is None else data.name, "" if data is None else data.address)
        plain = [move for move, _ in moves]
        paper = statement_document(told, customer, (since, today), before, plain)
        return pdf_answer(statement_pdf(paper), "statement")
    values = {
        "person": person,
        "since": since,
        "before": before,
        "moves": moves,
        "left": moves[-1][1] if moves else before,
        "shown": shown,
        "told": shop_money(desk.store),
        "today": today,
    }
    return desk.render(request, "statement.html", values, 200)
