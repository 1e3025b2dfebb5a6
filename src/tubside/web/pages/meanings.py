"""A proposed meaning, accepted or put off by a person."""

from __future__ import annotations

from typing import get_args

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import ModelError, NotThereError
from tubside.panel.schema import Sure
from tubside.service.accepting import accept
from tubside.service.meanings import proposals, put_off
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.models import drafts_of, shop_of


def keep(desk: Desk, _request: Request, form: Form) -> Response:
    """Accept one as an indication of the shop's model, or show it no more for now."""
    found = [it for it in proposals(desk.store, desk.library) if it.key == form.one("key")]
    if not found:
        msg = "this meaning is not proposed any more; look at the models again"
        raise NotThereError(msg)
    if form.one("do") == "not-now":
        put_off(desk.store, found[0])
        return go("/models#meanings")
    sure = next((word for word in get_args(Sure) if word == form.one("sure")), None)
    if form.one("do") != "accept" or sure is None:
        msg = "tap how sure the meaning is, then accept it"
        raise ModelError(msg)
    today = desk.clock().date()
    model = accept(shop_of(desk), drafts_of(desk), found[0], sure, today)
    desk.library.forget(model)
    return go(f"/models/{model}")
