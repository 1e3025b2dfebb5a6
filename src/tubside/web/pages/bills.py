"""Invoices of a job: drawn up, issued as one or as two, shown, and lines taken back."""

from __future__ import annotations

from datetime import date, datetime

from starlette.requests import Request
from starlette.responses import Response

from tubside.documents.invoice import Bill
from tubside.economics.billing import Line
from tubside.money.amounts import shown, typed_cents
from tubside.service.money.bill_paper import document_of
from tubside.service.money.crediting import credit
from tubside.service.money.deposits import invoices_deposits, make_deposit_invoice
from tubside.service.money.invoicing import Buyer, Done, bill, make_invoice
from tubside.service.money.paying import free_deposit
from tubside.service.money.quoting import draft_of, machine_words, quotes_of
from tubside.service.money.shop_money import shop_money
from tubside.service.money.split import Split, make_two_invoices
from tubside.service.records import Closing, RemedyDone
from tubside.service.views import JobView
from tubside.web.pages.bill_lines import KIND_WORDS, lines_in, rows, typed_day
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.words import PAYER_WORDS


def draw_up(desk: Desk, request: Request, _form: Form) -> Response:
    """An invoice to be changed before it is issued: the lines of the quote agreed to."""
    view = desk.view(request.path_params["job"])
    person, other = view.person.data if view.person else None, another_pays(view)
    name, address = (person.name, person.address) if person else ("", "")
    values = {
        "view": view,
        "rows": rows(_lines(desk, view)),
        "kinds": KIND_WORDS,
        "payer": PAYER_WORDS[view.payer.who] if other and view.payer else "",
        "buyer": "" if other else name,
        "address": "" if other else address,
        "country": shop_money(desk.store).country,
        "done": done_day(view, desk.clock()),
        "excess": view.payer.excess_cents if other and view.payer else None,
        "customer": name,
        "customer_address": address,
        "reference": view.words.get(view.payer.words or "") or "" if view.payer else "",
        "deposit": free_deposit(desk.store, view.id),
        "shown": shown,
        "currency": shop_money(desk.store).rules().currency,
    }
    return desk.render(request, "invoice_new.html", values, 200)


def _lines(desk: Desk, view: JobView) -> tuple[Line, ...]:
    for quote in quotes_of(desk.store, view.id):
        if quote.answer is not None and quote.answer.agreed:
            return tuple(quote.content.lines)
    return draft_of(desk.store, view, None).others


def done_day(view: JobView, now: datetime) -> date:
    """The day of the last remedy, else of the closing, else today."""
    alive = [entry for entry in view.entries if entry.retracted_by is None]
    for kind in (RemedyDone, Closing):
        found = [entry.at for entry in alive if isinstance(entry.body, kind)]
        if found:
            return found[-1].astimezone().date()
    return now.astimezone().date()


def another_pays(view: JobView) -> bool:
    """Whether somebody other than customer and shop pays."""
    return view.payer is not None and view.payer.who not in {"customer", "shop"}


def issue(desk: Desk, request: Request, form: Form) -> Response:
    """Issue an invoice, or two where the customer bears an excess."""
    view = desk.view(request.path_params["job"])
    author, lines = desk.author(form.one("once")), lines_in(form)
    done = Done(
        machine_words(view), typed_day(form.one("done"), "work") if form.one("done") else None
    )
    buyer = _buyer(view, form)
    excess = typed_cents(form.one("excess") or "0")
    if not excess:
        made = make_invoice(desk.store, view.id, author, done, buyer, lines)
        return go(f"/bills/{made.id}")
    customer = Buyer(
        form.one("customer"),
        form.one("customer_address").replace("\r\n", "\n"),
        person=view.person.ref if view.person else None,
    )
    split = Split(buyer, customer, excess)
    make_two_invoices(desk.store, view.id, author, done, split, lines)
    return go(f"/jobs/{view.id}/money")


def _buyer(view: JobView, form: Form) -> Buyer:
    """Who pays, as the form says; on the customer's statement only where that is the customer."""
    person = view.person
    theirs = (
        person is not None and person.data is not None and person.data.name == form.one("buyer")
    )
    return Buyer(
        form.one("buyer"),
        form.one("address").replace("\r\n", "\n"),
        form.one("reference"),
        person.ref if person and (theirs or not another_pays(view)) else None,
        form.one("country").upper(),
    )


def draw_up_deposit(desk: Desk, request: Request, _form: Form) -> Response:
    """An invoice for a deposit, to be filled in: what came in, else what the quote asks for."""
    view, told = desk.view(request.path_params["job"]), shop_money(desk.store)
    person = view.person.data if view.person and not another_pays(view) else None
    free = free_deposit(desk.store, view.id)
    agreed = [q for q in quotes_of(desk.store, view.id) if q.answer and q.answer.agreed]
    values = {
        "view": view,
        "invoices_deposits": invoices_deposits(told),
        "free": free,
        "asked": free or (agreed[0].content.deposit if agreed else 0),
        "buyer": person.name if person else "",
        "address": person.address if person else "",
        "country": told.country,
        "shown": shown,
        "currency": told.rules().currency,
    }
    return desk.render(request, "deposit_new.html", values, 200)


def issue_deposit(desk: Desk, request: Request, form: Form) -> Response:
    """Issue an invoice for a deposit itself."""
    view = desk.view(request.path_params["job"])
    made = make_deposit_invoice(
        desk.store,
        view.id,
        desk.author(form.one("once")),
        Done(machine_words(view)),
        _buyer(view, form),
        typed_cents(form.one("amount")),
    )
    return go(f"/bills/{made.id}")


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """An invoice or a credit note, to be printed."""
    told = bill(desk.store, request.path_params["bill"])
    if request.query_params.get("as") in {"pdf", "xml"}:
        return _paper(document_of(told.content, told.job), request.query_params["as"])
    values = {"bill": told, "content": told.content, "view": desk.view(told.job), "shown": shown}
    return desk.render(request, "bill.html", values, 200)


def _paper(document: Bill, form: str) -> Response:
    """The bill as PDF/A, or as its UBL file for machines."""
    from tubside.documents.invoice_paper import bill_pdf  # noqa: PLC0415  # loads the typesetter
    from tubside.documents.ubl import bill_xml  # noqa: PLC0415  # likewise

    made = bill_pdf(document) if form == "pdf" else bill_xml(document)
    headers = {
        "content-disposition": f'inline; filename="bill.{form}"',
        "cache-control": "no-store",
    }
    return Response(made, media_type=f"application/{form}", headers=headers)


def take_back(desk: Desk, request: Request, form: Form) -> Response:
    """Issue a credit note on lines of an invoice."""
    name, author = request.path_params["bill"], desk.author(form.one("once"))
    chosen = [int(at) for at in form.all("line") if at.isascii() and at.isdigit()]
    made = credit(desk.store, name, author, chosen, form.one("reason"))
    return go(f"/bills/{made.id}")
