"""When and where technicians work, how the shop travels, and calendar links: the office's."""

from __future__ import annotations

from collections.abc import Sequence

from starlette.requests import Request
from starlette.responses import Response

from tubside.day.routing_server import RoutingServer, table_address
from tubside.errors import DayError, TravelFileError
from tubside.service.public_address import public_address
from tubside.service.roles import check_office
from tubside.service.visits.feed import new_link
from tubside.service.visits.mail_setting import drop_mail, has_password, mail_setting
from tubside.service.visits.settings import (
    CallerSetting,
    TechnicianSetting,
    TravelSetting,
    caller_setting,
    drop_technician,
    keep_caller,
    keep_technician,
    keep_travel,
    technician_settings,
    travel_setting,
)
from tubside.service.visits.shop_day import Shop
from tubside.service.visits.ways import drop_table, keep_table, table_kept
from tubside.web.pages import mail
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.security.login_page import session_in

WHAT = "set hours and places"
MAIL = frozenset({"mail", "mail-try", "no-mail"})


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """What is set."""
    _may(request)
    return _page(desk, request, None)


def keep(desk: Desk, request: Request, form: Form) -> Response:
    """Keep one technician's hours, how the shop travels, or make a new calendar link."""
    _may(request)
    what, name = form.one("do"), form.one("name").lower()
    if what in MAIL:
        return _mail(desk, request, form)
    if what == "technician":
        keep_technician(desk.store, name, _technician(form))
    elif what == "drop":
        drop_technician(desk.store, name)
    elif what == "travel":
        keep_travel(desk.store, _travel(form))
    elif what == "caller":
        keep_caller(desk.store, CallerSetting(shop=form.one("shop"), telephone=form.one("tel")))
    elif what == "table":
        return _brought(desk, request, form)
    elif what == "no-table":
        drop_table(desk.store)
    elif what == "link":
        secret = new_link(Shop(desk.store, desk.library), name)
        host = public_address(desk.store) or f"{request.url.scheme}://{request.url.netloc}"
        link = f"{host}/calendar/{secret}.ics"
        return _page(desk, request, (name, link))
    else:
        msg = "tap keep, or what is to be done"
        raise DayError(msg)
    return go("/day-settings")


def _mail(desk: Desk, request: Request, form: Form) -> Response:
    """Keep or forget the shop's own mail server, or try it."""
    what = form.one("do")
    if what == "mail-try":
        return _page(desk, request, None, tried=mail.tried(desk))
    if what == "mail":
        mail.keep_server(desk, form)
    else:
        drop_mail(desk.store)
    return go("/day-settings#mail")


def _brought(desk: Desk, request: Request, form: Form) -> Response:
    """Keep the table of ways, or show every fault of it with its line."""
    if form.photo is None:
        msg = "choose the file first, a table from,to,minutes,km"
        raise DayError(msg)
    try:
        keep_table(desk.store, form.photo)
    except TravelFileError as wrong:
        return _page(desk, request, None, [str(problem) for problem in wrong.problems])
    return go("/day-settings")


def _may(request: Request) -> None:
    session = session_in(request)
    check_office(session.user if session is not None else None, WHAT)


def _page(
    desk: Desk,
    request: Request,
    link: tuple[str, str] | None,
    faults: Sequence[str] = (),
    tried: str = "",
) -> Response:
    with desk.store.reading() as opened:
        told, travel = technician_settings(opened), travel_setting(opened)
        caller, table = caller_setting(opened), table_kept(opened)
        server = mail_setting(opened)
    technicians = [*told.items(), ("", TechnicianSetting(start=""))]
    values = {"technicians": technicians, "travel": travel, "link": link, "caller": caller}
    values |= {"faults": faults, "ways": max(0, len(table.splitlines()) - 1)}
    values |= {"mail": server, "password_kept": has_password(desk.store), "tried": tried}
    return desk.render(request, "day_settings.html", values, 422 if faults else 200)


def _technician(form: Form) -> TechnicianSetting:
    skills = (skill.strip().lower() for skill in form.one("skills").split(","))
    return TechnicianSetting(
        start=form.one("start"),
        end=form.one("end"),
        begins=form.one("begins"),
        finishes=form.one("finishes"),
        break_at=form.one("break_at"),
        break_minutes=_number(form.one("break_minutes", "0")),
        skills=tuple(skill for skill in skills if skill),
        people=round(_number(form.one("people", "1"))),
    )


def _travel(form: Form) -> TravelSetting:
    router = form.one("router")
    if router:
        table_address(RoutingServer(router), [])
    return TravelSetting(
        speed_kmh=_number(form.one("speed")),
        road_factor=_number(form.one("factor")),
        unknown_minutes=_number(form.one("unknown")),
        router=router,
    )


def _number(text: str) -> float:
    try:
        value = float(text.replace(",", ".") or 0)
    except ValueError:
        value = -1.0
    if not 0.0 <= value < 1e6:
        msg = f"'{text[:20]}' is no number that can be meant here; write it like 45 or 1.3"
        raise DayError(msg)
    return value
