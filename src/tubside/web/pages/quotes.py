"""Quotes: drawn up, shown on the technician's screen, and answered on a customer's link."""

from __future__ import annotations

from typing import cast

from starlette.requests import Request
from starlette.responses import Response

from tubside.economics.quote import Manner, Work
from tubside.errors import LinkError, MoneyError
from tubside.money.amounts import shown, typed_number
from tubside.service.kept_plans import worked_out_plan
from tubside.service.money.links import link_of, quote_of_link
from tubside.service.money.quoting import Asked, Quoted, answer_quote, draft_of, make_quote, quote
from tubside.service.money.shop_money import shop_money
from tubside.service.money.work_paper import quote_document
from tubside.service.public_address import public_address
from tubside.web.pages.bill_lines import KIND_WORDS, lines_in, rows
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.pdf import pdf_answer

MOST_MINUTES = 2400


def draw_up(desk: Desk, request: Request, _form: Form) -> Response:
    """A quote to be changed: lines from plan and price book, minutes from the plan."""
    view = desk.view(request.path_params["job"])
    plan = None if view.closing is not None else worked_out_plan(desk.store, view, desk.clock())
    draft, told = draft_of(desk.store, view, plan), shop_money(desk.store)
    values = {
        "view": view,
        "rows": rows(draft.others),
        "work": draft.work,
        "bands": told.book.bands,
        "kinds": KIND_WORDS,
        "shown": shown,
        "currency": told.rules().currency,
    }
    return desk.render(request, "quote_new.html", values, 200)


def keep(desk: Desk, request: Request, form: Form) -> Response:
    """Keep a quote and show it."""
    view = desk.view(request.path_params["job"])
    manner = form.one("manner")
    if manner not in {"fixed", "range"}:
        msg = "choose a fixed price or a range"
        raise MoneyError(msg)
    low, mean, high, fixed = (_minutes(form, name) for name in ("low", "mean", "high", "minutes"))
    work = Work(mean, low, high) if manner == "range" else Work(fixed, fixed, fixed)
    asked = Asked(cast("Manner", manner), form.one("band"), lines_in(form), work, fixed)
    name = make_quote(desk.store, view, desk.author(form.one("once")), asked)
    return go(f"/quotes/{name}")


def _minutes(form: Form, name: str) -> float:
    minutes = float(typed_number(form.one(name, "0") or "0", "number of minutes"))
    if minutes > MOST_MINUTES:
        msg = f"{minutes:g} minutes are more than a job takes; write at most {MOST_MINUTES}"
        raise MoneyError(msg)
    return minutes


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """A quote on the technician's screen, with its link, to be printed too."""
    told = quote(desk.store, request.path_params["quote"])
    if request.query_params.get("as") == "pdf":
        from tubside.documents.work_papers import quote_pdf  # noqa: PLC0415  # loads the typesetter

        paper = quote_document(told, desk.view(told.job), shop_money(desk.store))
        return pdf_answer(quote_pdf(paper), "quote")
    token = "" if told.answer else link_of(desk.store, told.id)
    path = f"/quote/{token}"
    host = public_address(desk.store) or f"{request.url.scheme}://{request.url.netloc}"
    address = f"{host}{path}" if token else ""
    values = {**_values(told), "view": desk.view(told.job), "address": address}
    return desk.render(request, "quote.html", values, 200)


def _values(told: Quoted) -> dict[str, object]:
    return {"quote": told, "content": told.content, "shown": shown}


def answer(desk: Desk, request: Request, form: Form) -> Response:
    """Keep what the customer said on the technician's screen."""
    name = request.path_params["quote"]
    author = desk.author(form.one("once"))
    answer_quote(desk.store, name, author, "screen", agreed=_agreed(form))
    return go(f"/quotes/{name}")


def _agreed(form: Form) -> bool:
    said = form.one("answer")
    if said not in {"yes", "no"}:
        msg = "tap whether you agree"
        raise MoneyError(msg)
    return said == "yes"


def linked(desk: Desk, request: Request, _form: Form) -> Response:
    """A customer's page: the quote that the link is for, and nothing else."""
    try:
        row = quote_of_link(desk.store, request.path_params["token"], desk.clock())
    except LinkError as wrong:
        return desk.render(request, "quote_public.html", {"wrong": str(wrong)}, 404)
    values = {**_values(quote(desk.store, row.id)), "wrong": ""}
    return desk.render(request, "quote_public.html", values, 200)


def answer_linked(desk: Desk, request: Request, form: Form) -> Response:
    """Keep what the customer said on the link; once."""
    token = request.path_params["token"]
    try:
        row = quote_of_link(desk.store, token, desk.clock())
        answer_quote(desk.store, row.id, desk.author(), "link", agreed=_agreed(form))
    except MoneyError as wrong:
        return desk.render(request, "quote_public.html", {"wrong": str(wrong)}, 409)
    return go(f"/quote/{token}")
