"""Repair or replace, on a page of the job: the answer, its drawings, and all it assumes."""

from __future__ import annotations

import json
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from tubside.pack.layer.targets import told
from tubside.pack.schema import Pack
from tubside.service.kept_plans import worked_out_plan
from tubside.service.learning.lives import own_life
from tubside.service.money.quoting import open_quote
from tubside.service.roles import is_office
from tubside.service.worth import OpenQuote, worth_of
from tubside.service.worth_assumptions import SPECS
from tubside.service.worth_life import PLACES, own_words
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.packs import layers_of
from tubside.web.pages.worth_drawing import bars_chart, bars_words, years_chart, years_words
from tubside.web.security.login_page import session_in


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """The answer, with the assumptions that the address carries in place of ours."""
    view = desk.view(request.path_params["job"])
    if view.known is None:
        return go(f"/jobs/{view.id}/machine")
    plan = None if view.closing is not None else worked_out_plan(desk.store, view, desk.clock())
    typed = {name: request.query_params.get(name, "").strip() for name in SPECS}
    family = view.known.pack.family
    words = own_words(layers_of(desk.library) if desk.library.layers else None, family)
    answer = worth_of(view, plan, typed, _quoted(desk, view.id), words)
    values = {
        "view": view,
        "told": answer,
        **_own(desk, request, view.known.pack),
        "years": years_chart(answer),
        "years_words": years_words(answer),
        "bars": bars_chart(answer),
        "bars_words": bars_words(answer),
    }
    return desk.render(request, "worth.html", values, 200)


def _own(desk: Desk, request: Request, pack: Pack) -> dict[str, object]:
    """The life by the shop's own jobs, how to reckon with it, and how to keep it."""
    found = own_life(desk.store, desk.library, pack.family)
    if found is None:
        return {"own_life": None}
    fitted = {"shape": found.fit.shape, "scale_years": found.fit.scale}
    kept = {name: f"{value:.3g}" for name, value in fitted.items()}
    stands = all(
        f"{getattr(pack.costs, PLACES[name][-1]):.3g}" == value for name, value in kept.items()
    )
    session = session_in(request)
    office = desk.library.layers is not None and is_office(session.user if session else None)
    edits = [[told(PLACES[name]), value] for name, value in kept.items()]
    return {
        "own_life": found,
        "own_query": urlencode(kept),
        "own_edits": json.dumps(edits) if office and not stands else "",
        "own_kept": stands,
        "family": pack.family,
    }


def _quoted(desk: Desk, job: str) -> OpenQuote | None:
    told = open_quote(desk.store, job, desk.clock().astimezone().date())
    if told is None:
        return None
    prices = told.prices
    return OpenQuote(prices.expected / 100, prices.low / 100, prices.high / 100, told.dated)
