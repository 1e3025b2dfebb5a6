"""Repair or replace, on a page of the job: the answer, its drawings, and all it assumes."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tubside.service.kept_plans import worked_out_plan
from tubside.service.money.quoting import open_quote
from tubside.service.worth import OpenQuote, worth_of
from tubside.service.worth_assumptions import SPECS
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.worth_drawing import bars_chart, bars_words, years_chart, years_words


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """The answer, with the assumptions that the address carries in place of ours."""
    view = desk.view(request.path_params["job"])
    if view.known is None:
        return go(f"/jobs/{view.id}/machine")
    plan = None if view.closing is not None else worked_out_plan(desk.store, view, desk.clock())
    typed = {name: request.query_params.get(name, "").strip() for name in SPECS}
    told = worth_of(view, plan, typed, _quoted(desk, view.id))
    values = {
        "view": view,
        "told": told,
        "years": years_chart(told),
        "years_words": years_words(told),
        "bars": bars_chart(told),
        "bars_words": bars_words(told),
    }
    return desk.render(request, "worth.html", values, 200)


def _quoted(desk: Desk, job: str) -> OpenQuote | None:
    told = open_quote(desk.store, job, desk.clock().astimezone().date())
    if told is None:
        return None
    prices = told.prices
    return OpenQuote(prices.expected / 100, prices.low / 100, prices.high / 100, told.dated)
