"""The kit of a day, what to order, a list brought in, and a part used on a job."""

from __future__ import annotations

import math
from datetime import date

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import PartsFileError, StockError
from tubside.service.part_records import PartUsed
from tubside.service.parts.day_kit import HANDLING, DayKit, day_kit
from tubside.service.parts.job_needs import needs_kept, needs_of, visits_on
from tubside.service.parts.listing_file import COLUMNS, Brought, bring_in, read_list
from tubside.service.parts.moving import (
    ON_ORDER,
    PLACE,
    VAN,
    WORKSHOP,
    Move,
    move_all,
    place_words,
)
from tubside.service.parts.ordering import TARGET, order_csv, order_list
from tubside.service.parts.shelf import searched, shelf, vans
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.parts import decimal, hand, places_of, today, who, whole

AT_ONCE = 1
"""Jobs whose needs are worked out for one page: about a second each on one core."""


def kit(desk: Desk, request: Request, _form: Form) -> Response:
    """What to load for the visits of a day."""
    asked = request.query_params
    day, van, room = _asked(desk, request, asked.get("van"), asked.get("day"), asked.get("room"))
    views = visits_on(desk.store, desk.library, day, None)
    chosen = asked.getlist("job")
    views = [view for view in views if not chosen or view.id in chosen]
    waiting = [view for view in views if needs_kept(desk.store, view) is None]
    if len(waiting) > AT_ONCE:
        for view in waiting[:AT_ONCE]:
            needs_of(desk.store, view, desk.clock())
        return _wait(desk, request, len(views) - len(waiting) + AT_ONCE, len(views))
    found = _kit(desk, [view.id for view in views], van, room)
    values = {
        "day": day,
        "van": van,
        "room": "" if math.isinf(room) else f"{room:g}",
        "views": views,
        "kit": found,
        "handling": HANDLING,
        "vans": vans(shelf(desk.store)) or [van],
    }
    return desk.render(request, "stock_kit.html", values, 200)


def _wait(desk: Desk, request: Request, done: int, count: int) -> Response:
    """A page that asks for itself again at once, without a script, so that none takes long."""
    page = desk.render(request, "stock_wait.html", {"done": done, "count": count}, 200)
    page.headers["refresh"] = "0"
    return page


def load(desk: Desk, request: Request, form: Form) -> Response:
    """Book the kit as loaded, from the workshop onto the van."""
    day, van, _ = _asked(desk, request, form.one("van"), form.one("day"), form.one("room"))
    pairs = zip(form.all("part"), form.all("units"), strict=False)
    told = [Move(part, whole(n), WORKSHOP, VAN + van, "loaded") for part, n in pairs if whole(n)]
    move_all(desk.store, told, hand(desk, request, form))
    return go(f"/parts/kit?day={day.isoformat()}&van={van}")


def _asked(
    desk: Desk, request: Request, van: str | None, day: str | None, room: str | None
) -> tuple[date, str, float]:
    names = vans(shelf(desk.store))
    mine = who(request)
    name = (van or (mine if mine in names else next(iter(names), "1"))).lower()
    if not PLACE.fullmatch(VAN + name):
        msg = "a van's name has small letters, digits, dots and dashes"
        raise StockError(msg)
    try:
        on = date.fromisoformat(day or today(desk.clock()))
    except ValueError:
        msg = f"'{day}' is no day; write it like 2026-03-04"
        raise StockError(msg) from None
    return on, name, decimal(room, "room") if room else math.inf


def _kit(desk: Desk, jobs: list[str], van: str, room: float) -> DayKit | None:
    return day_kit(desk.store, desk.library, jobs, (van, room), desk.clock())


def order(desk: Desk, request: Request, _form: Form) -> Response:
    """What to order, to read, to print and to carry on."""
    target = _target(request.query_params.get("target"))
    found = order_list(desk.store, desk.library, desk.clock(), target)
    values = {"order": found, "target": round(100 * target), "place_words": place_words}
    return desk.render(request, "stock_order.html", values, 200)


def order_table(desk: Desk, request: Request, _form: Form) -> Response:
    """The order as a table for a spreadsheet."""
    target = _target(request.query_params.get("target"))
    text = order_csv(order_list(desk.store, desk.library, desk.clock(), target))
    headers = {"content-disposition": 'attachment; filename="order.csv"'}
    return Response(text, media_type="text/csv; charset=utf-8", headers=headers)


def ordered(desk: Desk, request: Request, form: Form) -> Response:
    """Book what was ordered."""
    pairs = zip(form.all("part"), form.all("units"), strict=False)
    told = [Move(part, whole(n), None, ON_ORDER, "ordered") for part, n in pairs if whole(n)]
    move_all(desk.store, told, hand(desk, request, form))
    return go("/parts/order")


def _target(text: str | None) -> float:
    value = decimal(text, "share") / 100.0 if text else TARGET
    if not 0.0 <= value < 1.0:
        msg = "a share of jobs is from 0 to 99 in a hundred"
        raise StockError(msg)
    return value


def bring(desk: Desk, request: Request, _form: Form) -> Response:
    """The form for a list of parts."""
    return _brought(desk, request, None, [])


def keep_brought(desk: Desk, request: Request, form: Form) -> Response:
    """Try a list of parts, or bring it in; every mistake is told by its line."""
    if form.photo is None:
        msg = "choose the file of the list first"
        raise StockError(msg)
    dry = form.one("do") != "keep"
    try:
        lines = read_list(form.photo, "line")
    except PartsFileError as wrong:
        return _brought(desk, request, None, list(wrong.problems), 422)
    found = bring_in(desk.store, lines, hand(desk, request, form), dry_run=dry)
    return _brought(desk, request, (found, dry), [])


def _brought(
    desk: Desk,
    request: Request,
    found: tuple[Brought, bool] | None,
    problems: list[object],
    status: int = 200,
) -> Response:
    values = {"columns": COLUMNS, "found": found, "problems": problems}
    return desk.render(request, "stock_import.html", values, status)


def used(desk: Desk, request: Request, _form: Form) -> Response:
    """Choose which part was used on a job."""
    view = desk.view(request.path_params["job"])
    asked = request.query_params.get("q", "")
    pack = view.known.pack.family if view.known is not None else ""
    parts = searched(shelf(desk.store), asked)
    parts.sort(key=lambda one: not any(k.startswith(f"{pack}/") for k in one.article.kinds))
    parts = [one for one in parts if not one.article.retired][:30]
    values = {
        "view": view,
        "asked": asked,
        "parts": parts,
        "titles": {one.article.number: one.article.title for one in parts},
        "places": places_of(desk),
        "place_words": place_words,
    }
    return desk.render(request, "stock_used.html", values, 200)


def keep_used(desk: Desk, request: Request, form: Form) -> Response:
    """Keep the fact that a part was used; the stock follows it."""
    job, number, place = request.path_params["job"], form.one("part"), form.one("place")
    if number not in {one.article.number for one in shelf(desk.store)}:
        msg = "choose which part was used"
        raise StockError(msg)
    units = whole(form.one("units", "1"))
    if not 1 <= units <= 100 or not PLACE.fullmatch(place) or place == ON_ORDER:
        msg = "say how many, from 1 to 100, and from which van or the workshop"
        raise StockError(msg)
    desk.keep(job, [PartUsed(part=number, units=units, place=place)], form.one("once"))
    return go(f"/jobs/{job}")
