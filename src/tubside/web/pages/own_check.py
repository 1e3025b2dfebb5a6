"""A customer's page: danger first, then the machine, its lamps, and safe steps one at a time.

All of it by plain forms. It shows what the machine is and what to do, and nothing that the
shop knows of anybody.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import LinkError, NotThereError, OwnCheckError, TubsideError
from tubside.pack.schema import DANGERS, Danger
from tubside.service import records
from tubside.service.money.shop_party import shop_party
from tubside.service.own_check.keeping import (
    Caller,
    Keeper,
    ask_visit,
    keep_facts,
    open_at_door,
)
from tubside.service.own_check.links import Opens, job_link, opened_by
from tubside.service.own_check.standing import Standing, check_open, standing
from tubside.service.telling import SafetyStep
from tubside.service.told import safety
from tubside.service.viewing import view_of
from tubside.service.views import JobView
from tubside.web.pages.desk import Desk, Form, fresh_id, go
from tubside.web.pages.own_check_film import film_limit, films_sent, take_film
from tubside.web.pages.own_check_words import (
    asked_dangers,
    machines,
    outcome_choices,
    picked_lamps,
    step_shown,
    trouble_values,
)
from tubside.web.pages.rendering import UNHURT

PAGE = "own_check.html"
PARTS = ("before noon", "after noon", "in the evening")
DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday")


@dataclass(frozen=True, slots=True)
class Visitor:
    """What a link opened, and where its check stands; ``view`` None at the front door."""

    token: str
    opens: Opens
    view: JobView | None
    standing: Standing


def visitor(desk: Desk, request: Request) -> Visitor:
    """Whoever comes by a link.

    Raises
    ------
    LinkError
        When it is forged, past, of a door that was shut, or of a job that has gone on.
    """
    token = request.path_params["token"]
    opens = opened_by(desk.store, token, desk.clock())
    if opens.job is None:
        return Visitor(token, opens, None, Standing("danger"))
    view = view_of(desk.store, desk.library, opens.job, advised=False)
    check_open(view)
    return Visitor(token, opens, view, standing(desk.store, view, desk.clock()))


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """The page of a link, as its check stands."""
    try:
        return _page(desk, request, visitor(desk, request))
    except (LinkError, NotThereError) as wrong:
        return _refused(desk, request, wrong, 404)


def keep(desk: Desk, request: Request, form: Form) -> Response:
    """Take what a customer sent, where it is what the page asked; else show the page again."""
    try:
        who = visitor(desk, request)
    except (LinkError, NotThereError) as wrong:
        return _refused(desk, request, wrong, 404)
    try:
        if who.view is None:
            return _at_door(desk, request, form)
        _take(desk, who, who.view, form)
    except TubsideError as wrong:
        return _refused(desk, request, wrong, 422)
    return go(f"/check/{who.token}")


def may_film(desk: Desk, request: Request) -> Response | None:
    """Refuse a film by a wrong link before it is read."""
    try:
        visitor(desk, request)
    except (LinkError, NotThereError) as wrong:
        return _refused(desk, request, wrong, 404)
    return None


def film(desk: Desk, request: Request, form: Form) -> Response:
    """Take a clip of the lamps, or a sound; the technician has it read."""
    try:
        who = visitor(desk, request)
        if who.view is not None:
            take_film(desk, who.view, form)
    except TubsideError as wrong:
        return _refused(desk, request, wrong, 422)
    return go(f"/check/{who.token}")


def _refused(desk: Desk, request: Request, wrong: Exception, status: int) -> Response:
    """What went wrong, in words; with a way back where the link itself is good."""
    back = "" if status == 404 else f"/check/{request.path_params['token']}"
    told = str(wrong) if not isinstance(wrong, NotThereError) else "this link is not right"
    values = {"at": "wrong", "wrong": told, "back": back, **_shop(desk)}
    return desk.render(request, PAGE, values, status)


def _shop(desk: Desk) -> dict[str, object]:
    """The shop as customers know it: its name, and the number to ring."""
    party = shop_party(desk.store)
    return {"shop": party.name, "telephone": party.telephone}


def _page(desk: Desk, request: Request, who: Visitor) -> Response:
    """The page for where the check stands."""
    view, at = who.view, who.standing.at
    values: dict[str, object] = {"at": at, "door": view is None, **_shop(desk)}
    values |= {"dangers": asked_dangers(None if view is None else view.known)}
    values |= {"safety": () if view is None else view.safety, "days": DAYS, "parts": PARTS}
    values |= {"machine": _machine(view), "standing": who.standing, "token": who.token}
    if at == "machine":
        values |= {"machines": machines(desk.library)}
    elif at == "trouble" and view is not None and view.known is not None:
        values |= {**trouble_values(view.known), "film": film_limit(view)}
        values |= {"filmed": films_sent(view)}
    elif at == "step" and view is not None and view.known is not None and who.standing.ask:
        values |= step_shown(view.known, who.standing.ask)
    return desk.render(request, PAGE, values, 200)


def _machine(view: JobView | None) -> str:
    if view is None or view.known is None:
        return ""
    return view.known.panel.name if view.known.panel is not None else view.known.pack.title


def _at_door(desk: Desk, request: Request, form: Form) -> Response:
    """The front door: danger first, then the machine and a number to ring; then a job opens."""
    kinds = dangers_in(form)
    if form.one("do") != "call":
        values: dict[str, object] = {
            "at": "call",
            "danger": form.one("danger"),
            "safety": said_of(kinds),
            "machines": [] if kinds else machines(desk.library),
            **_shop(desk),
        }
        return desk.render(request, PAGE, values, 200)
    caller = Caller(form.one("name"), form.one("phone"), form.one("machine") if not kinds else "")
    danger = records.DangerTold(kinds=kinds)
    job = open_at_door(_keeper(desk), caller, danger, form.one("once") or fresh_id())
    return go(f"/check/{job_link(desk.store, job, desk.clock())}")


def dangers_in(form: Form) -> list[Danger]:
    """The danger that a form tells, none for "none".

    Raises
    ------
    OwnCheckError
        When it tells neither.
    """
    told = form.one("danger")
    kinds = [kind for kind in DANGERS if kind == told]
    if not kinds and told != "none":
        msg = "answer the question about danger first: tap one of its answers"
        raise OwnCheckError(msg)
    return list[Danger](kinds)


def said_of(kinds: Sequence[Danger]) -> Sequence[SafetyStep]:
    """What to do at once."""
    return safety(tuple(kinds))


def _keeper(desk: Desk) -> Keeper:
    return Keeper(desk.store, desk.library, desk.clock)


def _take(desk: Desk, who: Visitor, view: JobView, form: Form) -> None:
    """Keep what a form tells, where the check stands there; anything else changes nothing."""
    at, do = who.standing.at, form.one("do")
    bodies: list[records.Body] = []
    if do == "danger" and (at == "danger" or form.one("danger") != "none"):
        bodies = [records.DangerTold(kinds=dangers_in(form))]
    elif do == "machine" and at == "machine":
        bodies = _machine_told(form)
    elif do == "trouble" and at == "trouble":
        bodies = _trouble_told(view, form)
    elif do == "step" and at == "step":
        bodies = _step_told(who, view, form)
    elif do == "back" and at == "cleared":
        bodies = [records.CameBack()]
    elif do == "visit" and at in {"step", "visit", "trouble", "machine"}:
        ask_visit(_keeper(desk), view.id, times_in(form), form.one("once") or fresh_id())
    if bodies:
        keep_facts(_keeper(desk), view.id, bodies, form.one("once") or fresh_id())


def _machine_told(form: Form) -> list[records.Body]:
    kind, _, name = form.one("machine").partition(":")
    if kind == "model":
        return [records.Machine(model=name)]
    if kind == "family":
        return [records.Machine(family=name)]
    msg = "pick the machine, or ask for a visit"
    raise OwnCheckError(msg)


def _trouble_told(view: JobView, form: Form) -> list[records.Body]:
    """The lamps as picked or told one by one, and the trouble in words."""
    assert view.known is not None
    bodies: list[records.Body] = []
    lamps = picked_lamps(view.known, form)
    if lamps is not None:
        bodies.append(lamps)
    first = form.one("first")
    if first and first not in view.known.pack.conditions:
        msg = "pick what is wrong from the list"
        raise OwnCheckError(msg)
    if first:
        bodies.append(records.Reported(conditions=[first]))
    if not bodies:
        msg = "pick the picture that looks the same, or what is wrong"
        raise OwnCheckError(msg)
    return bodies


def _step_told(who: Visitor, view: JobView, form: Form) -> list[records.Body]:
    """The answer to the step that the page asked; another one's changes nothing."""
    ask = who.standing.ask
    if ask is None or view.known is None or form.one("step") != ask.id:
        return []
    outcome = form.one("outcome")
    if outcome not in {name for name, _ in outcome_choices(view.known, ask)}:
        msg = "tap one of the answers"
        raise OwnCheckError(msg)
    pack = view.known.pack
    entry = pack.checks[ask.id] if ask.kind == "check" else pack.remedies[ask.id]
    ticked = [name for name in entry.cautions if name in form.all("caution")]
    if len(ticked) < len(entry.cautions) and outcome not in UNHURT:
        msg = "read what can hurt first, and tick each"
        raise OwnCheckError(msg)
    bodies: list[records.Body] = [records.CautionRead(caution=c, step=ask.id) for c in ticked]
    if ask.kind == "check":
        return [*bodies, records.CheckDone(check=ask.id, outcome=outcome, by="customer")]
    return [*bodies, records.RemedyDone(remedy=ask.id, outcome=outcome, by="customer")]


def times_in(form: Form) -> str:
    """The times preferred, as words: days and parts of the day that were ticked, then a note.

    >>> times_in(Form({"when": ["Monday", "before noon", "at night"], "note": ["not by bell"]}))
    'Monday, before noon; not by bell'
    """
    ticked = ", ".join(one for one in (*DAYS, *PARTS) if one in form.all("when"))
    return "; ".join(words for words in (ticked, form.one("note")) if words)
