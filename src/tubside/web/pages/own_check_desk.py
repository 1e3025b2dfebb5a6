"""The shop's side of a customer's own check: links to give out, and texts that came back."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import segno
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import OwnCheckError
from tubside.service.knowledge import Knowledge
from tubside.service.money.shop_party import shop_party
from tubside.service.own_check.keeping import Keeper, keep_facts
from tubside.service.own_check.links import DOOR_DAYS, JOB_DAYS, door_link, job_link
from tubside.service.own_check.standing import check_open
from tubside.service.own_check.told import told_check
from tubside.service.public_address import public_address
from tubside.service.records import Body, Machine
from tubside.service.short_text import ToldShort, bodies_of, decoded, end_of
from tubside.service.views import JobView
from tubside.service.visit_records import Waiting
from tubside.web.pages.desk import Desk, Form, fresh_id, go
from tubside.web.pages.words import fact_words

END_WORDS = {
    "cleared": "The machine works again.",
    "visit": "A visit is wished for.",
    "stop": "The check ended with stop: the machine is to stay off.",
    "": "The check was not finished.",
}


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """The link of a job with its code, and the place for a text that was sent or read out."""
    view = desk.view(request.path_params["job"])
    token = "" if view.closing is not None else job_link(desk.store, view.id, desk.clock())
    values = {**_given(desk, request, token), "view": view, "days": JOB_DAYS}
    values |= {"told": told_check(view), "text": "", "facts": (), "ended": ""}
    return desk.render(request, "own_check_job.html", values, 200)


def keep(desk: Desk, request: Request, form: Form) -> Response:
    """Show what a text tells before it is kept; keep it when that was seen."""
    view = desk.view(request.path_params["job"])
    text = form.one("text")
    told = decoded(desk.library, text)
    check_open(view)
    known = _known(desk, told)
    _check_machine(view, told)
    bodies = bodies_to_keep(told, known, view)
    if form.one("do") == "keep":
        keeper = Keeper(desk.store, desk.library, desk.clock)
        keep_facts(keeper, view.id, bodies, form.one("once") or fresh_id())
        return go(f"/jobs/{view.id}")
    shown = [fact_words(_as_known(view, known), body) for body in bodies]
    values = {**_given(desk, request, ""), "view": view, "days": JOB_DAYS}
    values |= {"told": told_check(view), "text": text, "facts": shown}
    values |= {"ended": END_WORDS[end_of(told)]}
    return desk.render(request, "own_check_job.html", values, 200)


def _known(desk: Desk, told: ToldShort) -> Knowledge:
    if told.model is not None:
        return desk.library.model(told.model)
    return desk.library.family(told.family)


def _as_known(view: JobView, known: Knowledge) -> JobView:
    """The view with the machine of the text, so that its facts are told in that pack's words."""
    return replace(view, known=known)


def _check_machine(view: JobView, told: ToldShort) -> None:
    """Refuse the text of another machine than the job's."""
    if view.known is None:
        return
    model = view.source.job.model if view.source is not None else None
    other = view.known.pack.family != told.family
    if other or (model is not None and told.model is not None and model != told.model):
        msg = "this text is of another machine than this job's; look at whose it is"
        raise OwnCheckError(msg)


def bodies_to_keep(told: ToldShort, known: Knowledge, view: JobView) -> list[Body]:
    """The facts of a text, the machine's only where the job does not know it so well."""
    bodies = bodies_of(told, known)
    if view.known is not None and (told.model is None or view.known.panel is not None):
        bodies = [body for body in bodies if not isinstance(body, Machine)]
    if end_of(told) == "visit":
        bodies.append(Waiting(what="visit"))
    return bodies


def door(desk: Desk, request: Request, _form: Form) -> Response:
    """The link of the front door, to be printed or put on the shop's own pages."""
    token = door_link(desk.store, desk.clock())
    values = {**_given(desk, request, token), "days": DOOR_DAYS}
    values |= {"shop": shop_party(desk.store).name}
    return desk.render(request, "own_check_door.html", values, 200)


def new_door(desk: Desk, _request: Request, form: Form) -> Response:
    """Shut the door that was given out, and make another."""
    if form.one("do") != "shut":
        msg = "tap the button to make a new door"
        raise OwnCheckError(msg)
    door_link(desk.store, desk.clock(), anew=True)
    return go("/own-check")


def _given(desk: Desk, request: Request, token: str) -> dict[str, object]:
    """A link as address, as code to be scanned, and whether customers can reach it."""
    public = public_address(desk.store)
    host = public or f"{request.url.scheme}://{request.url.netloc}"
    address = f"{host}/check/{token}" if token else ""
    return {
        "address": address,
        "code": code_svg(address) if address else "",
        "reached": bool(public),
        "message": message(shop_party(desk.store).name, address) if address else "",
    }


def message(shop: str, address: str) -> str:
    """The text message that goes with a link."""
    return (
        f"{shop}: before anybody drives, you can check your machine yourself, "
        f"safely and step by step, with nothing to be opened: {address}"
    )


def code_svg(address: str) -> Markup:
    """An address as a QR code (ISO/IEC 18004), drawn without any style of its own."""
    out = BytesIO()
    segno.make(address, error="m", micro=False).save(
        out, kind="svg", xmldecl=False, svgns=False, svgclass=None, lineclass=None, omitsize=True
    )
    return Markup(out.getvalue().decode())  # noqa: S704  # drawn by segno, no text in it
