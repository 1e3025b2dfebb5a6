"""Parts of the shop: found, looked at, priced, and moved from place to place."""

from __future__ import annotations

from datetime import datetime
from typing import cast, get_args

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import StockError
from tubside.service.parts.articles import (
    Article,
    Offer,
    Sure,
    keep_article,
    keep_fit,
    keep_offer,
)
from tubside.service.parts.moving import (
    VAN,
    WORKSHOP,
    Despite,
    Hand,
    Move,
    Reason,
    counted,
    move,
    place_words,
)
from tubside.service.parts.ordering import order_list
from tubside.service.parts.shelf import lowest_first, one_part, searched, shelf, vans
from tubside.web.pages.desk import Desk, Form, fresh_id, go
from tubside.web.security.login_page import session_in

A_PAGE = 200
REASONS: dict[Reason, str] = {
    "received": "it came in",
    "loaded": "loaded onto a van",
    "unloaded": "back into the workshop",
    "ordered": "ordered",
    "order-cancelled": "the order was cancelled",
    "used": "used, without a job",
    "sent-back": "sent back to the supplier",
    "lost": "lost",
    "broken": "broken",
    "found": "found",
    "not-used-after-all": "not used after all",
    "counted": "counted",
}
DESPITE: dict[Despite, str] = {
    "not-booked-in": "it was never booked in",
    "miscounted": "it was miscounted",
    "borrowed": "it is borrowed",
    "told-afterwards": "it was told afterwards",
}
SURE: dict[Sure, str] = {
    "sure": "fits for sure",
    "likely": "likely fits",
    "unsure": "may fit",
    "no": "does not fit",
}


def who(request: Request) -> str:
    """Who is logged in, "server" where nobody needs to."""
    session = session_in(request)
    return "server" if session is None else session.user.name


def hand(desk: Desk, request: Request, form: Form) -> Hand:
    """The hand that moves, counting once for each form."""
    return Hand(form.one("once") or fresh_id(), who(request), desk.clock())


def listed(desk: Desk, request: Request, _form: Form) -> Response:
    """Every part, those that run low first, or those that a search finds."""
    asked = request.query_params.get("q", "")
    parts = shelf(desk.store)
    found = searched(parts, asked)
    if (
        asked
        and len(found) == 1
        and asked.strip() in {found[0].article.number, found[0].article.barcode}
    ):
        return go(f"/part/{found[0].article.number}")
    wanted = _wanted(desk)
    values = {
        "asked": asked,
        "found": lowest_first(found, wanted)[:A_PAGE],
        "count": len(found),
        "all": len(parts),
        "wanted": wanted,
        "place_words": place_words,
        "kinds": all_kinds(desk),
    }
    return desk.render(request, "stock.html", values, 200)


def _wanted(desk: Desk) -> dict[str, int]:
    lines = order_list(desk.store, desk.library, desk.clock()).lines
    return {line.part.article.number: line.least for line in lines}


def all_kinds(desk: Desk) -> list[tuple[str, str]]:
    """Every part kind of every pack: family/kind, and its title."""
    return [
        (f"{family}/{kind}", f"{part.title}, {pack.title}")
        for family in desk.library.families()
        for pack in (desk.library.family(family).pack,)
        for kind, part in pack.parts.items()
    ]


def add(desk: Desk, _request: Request, form: Form) -> Response:
    """Keep a new article; refused when its number is taken."""
    article = _article(form, form.one("number"))
    there = {one.article.number for one in shelf(desk.store)}
    if article.number in there:
        msg = f"there is a part {article.number} already; change that one, or take another number"
        raise StockError(msg)
    return go(f"/part/{keep_article(desk.store, article, desk.clock())}")


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """One part: where it lies, what it costs, what it fits, and where it moved."""
    told = one_part(desk.store, request.path_params["part"])
    places = places_of(desk)
    values = {
        "told": told,
        "article": told.shelved.article,
        "place_words": place_words,
        "places": places,
        "reasons": {reason: words for reason, words in REASONS.items() if reason != "counted"},
        "reason_words": REASONS,
        "despite": {why: words for why, words in DESPITE.items() if why != "told-afterwards"},
        "despite_words": DESPITE,
        "sure": SURE,
        "kinds": all_kinds(desk),
        "machines": machines(desk),
    }
    return desk.render(request, "stock_part.html", values, 200)


def places_of(desk: Desk) -> list[str]:
    """Places that a form may name; a first van where there is none yet."""
    names = vans(shelf(desk.store)) or ["1"]
    return [WORKSHOP, *(VAN + name for name in names)]


def machines(desk: Desk) -> list[tuple[str, str]]:
    """Models and families by id, with their names."""
    found = []
    for name in desk.library.models():
        panel = desk.library.model(name).panel
        found.append((name, name if panel is None else panel.name))
    families = desk.library.families()
    return [*found, *((f, f"any {desk.library.family(f).pack.title}") for f in families)]


def change(desk: Desk, request: Request, form: Form) -> Response:
    """Change an article, add a price or a fit, move or count units."""
    number = request.path_params["part"]
    one_part(desk.store, number)
    by, now = hand(desk, request, form), desk.clock()
    match form.one("do"):
        case "change":
            keep_article(desk.store, _article(form, number), now)
        case "offer":
            keep_offer(desk.store, by.ref, number, _offer(form), now)
        case "fit":
            sure = cast("Sure", form.one("sure"))
            keep_fit(desk.store, by.ref, (number, form.one("model"), sure), now)
        case "move":
            move(desk.store, _move(form, number), by)
        case "count":
            counted(desk.store, number, _place(form, "place") or "", whole(form.one("units")), by)
        case _:
            msg = "nothing was told of this part"
            raise StockError(msg)
    return go(f"/part/{number}")


def _article(form: Form, number: str) -> Article:
    return Article(
        number=number,
        title=form.one("title"),
        kinds=tuple(dict.fromkeys(form.all("kinds"))),
        barcode=form.one("barcode"),
        room=decimal(form.one("room", "1") or "1", "room"),
        retired=form.one("retired") == "yes",
    )


def _offer(form: Form) -> Offer:
    price = round(100 * decimal(form.one("price"), "price"))
    lead = decimal(form.one("lead_days"), "number of days")
    return Offer(form.one("supplier"), price, lead, form.one("code"))


def _move(form: Form, number: str) -> Move:
    reason, why = cast("Reason", form.one("reason")), form.one("despite")
    if why and why not in get_args(Despite):
        msg = f"'{why}' does not say why"
        raise StockError(msg)
    units, job = whole(form.one("units")), form.one("job") or None
    source, target = _place(form, "source"), _place(form, "target")
    return Move(number, units, source, target, reason, cast("Despite", why) if why else None, job)


def _place(form: Form, name: str) -> str | None:
    """A place from a list, or a van named anew."""
    place = form.one(name)
    if place == "new-van":
        return VAN + form.one("van").lower()
    return place if place not in {"", "outside"} else None


def whole(text: str) -> int:
    """A number of units; StockError where it is none."""
    if not (text.isascii() and text.isdigit() and len(text) <= 6):
        msg = f"'{text}' is no number of units; write a whole number such as 2"
        raise StockError(msg)
    return int(text)


def decimal(text: str, what: str) -> float:
    """A number with a comma or a point; StockError where it is none."""
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = float("nan")
    if not 0.0 <= value <= 1e7:
        msg = f"'{text}' is no {what}; write a number such as 12.50"
        raise StockError(msg)
    return value


def today(moment: datetime) -> str:
    """The day of a moment, where this machine stands, as forms write it."""
    return moment.astimezone().date().isoformat()
