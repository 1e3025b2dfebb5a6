"""The app: routes over one store and one library, behind its guards."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from tubside.service.library import Library
from tubside.store.opening import Store
from tubside.web.packing import Packing, packed_file, takes_gzip
from tubside.web.pages import (
    after,
    bills,
    bringing,
    call,
    day,
    day_settings,
    export,
    figures,
    guide,
    home,
    job,
    learning,
    mail,
    meanings,
    models,
    money,
    money_settings,
    moving,
    offline,
    own_check,
    own_check_desk,
    pack_changes,
    packs,
    panel,
    parts,
    parts_day,
    people,
    pocket,
    practise,
    quotes,
    recording,
    recordings,
    report,
    safety,
    safety_settings,
    scan,
    shaking,
    sheet,
    spinning,
    teach,
    teach_shows,
    telling,
    trip,
    unseen,
    visit,
    worth,
)
from tubside.web.pages.desk import Desk, Handler, route_of
from tubside.web.pages.rendering import STATIC, render, static_file, static_path
from tubside.web.pages.sync import SyncPages
from tubside.web.security.guarding import Guarding, guard
from tubside.web.security.login_page import LoginPages

FOR_EVER, A_MOMENT = "public, max-age=31536000, immutable", "public, max-age=60"
PAGES: tuple[tuple[str, Handler, Handler | None], ...] = (
    ("/", home.at_hand, None),
    ("/call", call.danger, call.take),
    ("/jobs/{job}", job.show, job.keep),
    ("/jobs/{job}/machine", call.machine, call.name_machine),
    ("/jobs/{job}/trouble", call.trouble, call.tell_trouble),
    ("/jobs/{job}/panel", panel.show, panel.keep),
    ("/jobs/{job}/sketch", unseen.sketch, unseen.keep_sketch),
    ("/jobs/{job}/pocket.json", pocket.show, None),
    ("/jobs/{job}/steps", telling.listed, None),
    ("/jobs/{job}/steps/{step}", telling.one, telling.keep),
    ("/jobs/{job}/person", people.person, people.keep_person),
    ("/jobs/{job}/person/card.vcf", people.person_card, None),
    ("/jobs/{job}/person/data", export.person, None),
    ("/jobs/{job}/person/data.zip", export.person_archive, None),
    ("/jobs/{job}/trip", trip.show, trip.keep),
    ("/jobs/{job}/closing", people.closing, people.close),
    ("/jobs/{job}/photos/{ref}", people.photo, None),
    ("/jobs/{job}/shake", shaking.show, shaking.keep),
    ("/jobs/{job}/shake/{ref}", shaking.told, shaking.use),
    ("/jobs/{job}/spin", spinning.show, spinning.keep),
    ("/jobs/{job}/spin/{ref}", spinning.told, spinning.use),
    ("/jobs/{job}/recordings", recordings.listed, recordings.send),
    ("/jobs/{job}/recordings/{ref}", recording.show, recording.act),
    ("/jobs/{job}/recordings/{ref}/first.jpg", recording.picture, None),
    ("/jobs/{job}/recordings/{ref}/file", recordings.file, None),
    ("/jobs/{job}/worth", worth.show, None),
    ("/jobs/{job}/safety", safety.show, safety.keep),
    ("/jobs/{job}/safety/record", safety.record, None),
    ("/jobs/{job}/safety.pdf", safety.paper, None),
    ("/safety", safety_settings.show, safety_settings.keep),
    ("/jobs/{job}/after", after.show, after.keep),
    ("/jobs/{job}/report", report.show, None),
    ("/jobs/{job}/report.pdf", report.pdf, None),
    ("/jobs/{job}/money", money.show, money.keep),
    ("/jobs/{job}/quote", quotes.draw_up, quotes.keep),
    ("/jobs/{job}/invoice", bills.draw_up, bills.issue),
    ("/jobs/{job}/deposit-invoice", bills.draw_up_deposit, bills.issue_deposit),
    ("/jobs/{job}/stops/{note}", money.stopped, None),
    ("/quotes/{quote}", quotes.show, quotes.answer),
    ("/quote/{token}", quotes.linked, quotes.answer_linked),
    ("/check/{token}", own_check.show, own_check.keep),
    ("/jobs/{job}/own-check", own_check_desk.show, own_check_desk.keep),
    ("/own-check", own_check_desk.door, own_check_desk.new_door),
    ("/guide", guide.start, None),
    ("/guide/{name}", guide.show, None),
    ("/bills/{bill}", bills.show, bills.take_back),
    ("/money", money.owed, None),
    ("/money/settings", money_settings.show, money_settings.keep),
    ("/money/statement/{person}", money.statement, None),
    ("/jobs/{job}/used", parts_day.used, parts_day.keep_used),
    ("/day", day.today, None),
    ("/day/{date}", day.show, day.change),
    ("/day-settings", day_settings.show, day_settings.keep),
    ("/calendar/{secret}.ics", day.calendar, None),
    ("/parts", parts.listed, parts.add),
    ("/parts/kit", parts_day.kit, parts_day.load),
    ("/parts/order", parts_day.order, parts_day.ordered),
    ("/parts/order.csv", parts_day.order_table, None),
    ("/parts/import", parts_day.bring, parts_day.keep_brought),
    ("/parts/scan", scan.show, scan.read),
    ("/part/{part}", parts.show, parts.change),
    ("/figures", figures.show, None),
    ("/learning", learning.listed, None),
    ("/learning-bring", bringing.show, bringing.bring),
    ("/learning/{family}", learning.one, None),
    ("/learning/{family}/number", learning.number, learning.decide_number),
    ("/learning/{family}/said", learning.said, None),
    ("/export", export.show, None),
    ("/export/tables.zip", export.tables, None),
    ("/export/repairs.csv", export.repairs, None),
    ("/offline", offline.about, None),
    ("/offline/job", offline.frame, None),
    ("/offline/list.json", offline.listed, None),
    ("/service-worker.js", offline.worker, None),
    ("/practise", practise.choose, None),
    ("/practise/at", practise.at_machine, None),
    ("/models", models.listed, None),
    ("/models/new", teach.begin, teach.keep_begin),
    ("/models/drafts/{draft}/corners", teach.corners, teach.keep_corners),
    ("/models/drafts/{draft}/lamps", teach.lamps, teach.keep_lamps),
    ("/models/drafts/{draft}/shows", teach_shows.shows, teach_shows.keep_shows),
    ("/models/drafts/{draft}/look", teach.look, teach.keep_look),
    ("/models/drafts/{draft}/{picture}.jpg", teach.picture, None),
    ("/models/{model}", models.one, None),
    ("/packs", packs.listed, None),
    ("/packs/{family}", packs.one, None),
    ("/packs/{family}/export", pack_changes.export, None),
    ("/packs/{family}/{section}/new", packs.begin, pack_changes.try_new),
    ("/packs/{family}/{section}/{name}", packs.entry, None),
    ("/models/{model}/export", models.export, None),
    ("/models/{model}/practise", models.practise, models.practise),
    ("/models/{model}/sheet", sheet.sheet, sheet.keep_sheet),
    ("/models/{model}/all.{kind}", moving.whole, None),
    ("/models/{model}/shows/{indication}.{kind}", moving.one, None),
)
FORMS: tuple[tuple[str, Handler], ...] = (
    ("/jobs/{job}/visit", visit.keep),
    ("/jobs/{job}/mail", mail.send),
    ("/jobs/{job}/danger", call.also),
    ("/jobs/{job}/kind", unseen.tell_kind),
    ("/jobs/{job}/teach", unseen.teach),
    ("/jobs/{job}/payer", job.payer),
    ("/jobs/{job}/take-back", job.take_back),
    ("/jobs/{job}/came-back", job.came_back),
    ("/jobs/{job}/photos", people.keep_photo),
    ("/models/import", models.take_in),
    ("/packs/import", pack_changes.take_in),
    ("/packs/{family}/keep", pack_changes.keep),
    ("/packs/{family}/undo", pack_changes.undo),
    ("/packs/{family}/settle", pack_changes.settle),
    ("/packs/{family}/{section}/{name}/try", pack_changes.try_field),
    ("/models/meanings", meanings.keep),
)


def create_app(
    guarding: Guarding, store: Store, library: Library, clock: Callable[[], datetime]
) -> ASGIApp:
    """The whole app; ``guarding`` says which names it answers to and who may come in."""
    desk = Desk(store, library, clock, render)
    routes = [Route("/static/{name}", _static, methods=["GET"])]
    for path, shown, kept in PAGES:
        routes.append(Route(path, route_of(desk, shown), methods=["GET"]))
        if kept is not None:
            routes.append(Route(path, route_of(desk, kept), methods=["POST"]))
    routes += [Route(path, route_of(desk, kept), methods=["POST"]) for path, kept in FORMS]
    film = route_of(desk, own_check.film, own_check.may_film)
    routes.append(Route("/check/{token}/film", film, methods=["POST"]))
    routes += LoginPages(store, clock, render).routes()
    routes += SyncPages(desk).routes()
    lost = {404: _lost, 405: _lost}
    app = Starlette(routes=routes, exception_handlers=lost, middleware=[Middleware(Packing)])
    return guard(app, guarding, store, clock)


def _static(request: Request) -> Response:
    """One of our files, under its lasting address or under its plain name."""
    path = f"/static/{request.path_params['name']}"
    for name, kind in STATIC.items():
        if path in {static_path(name), f"/static/{name}"}:
            keep = FOR_EVER if path == static_path(name) else A_MOMENT
            headers = {"cache-control": keep, "vary": "accept-encoding"}
            if takes_gzip(request.headers):
                headers["content-encoding"] = "gzip"
                return Response(packed_file(name), media_type=kind, headers=headers)
            return Response(static_file(name), media_type=kind, headers=headers)
    return PlainTextResponse("There is no such file.\n", 404)


def _lost(request: Request, wrong: Exception) -> Response:
    status = wrong.status_code if isinstance(wrong, HTTPException) else 404
    words = {"wrong": "There is no such page. It may have been typed wrong, or be from before."}
    return render(request, "sorry.html", words, status)
