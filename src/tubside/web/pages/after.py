"""Who pays and under which number, the warranty, a return, and where old things went."""

from __future__ import annotations

from datetime import date, datetime
from typing import cast

from starlette.requests import Request
from starlette.responses import Response

from tubside.documents.disposal import DisposalItem, DisposalNote
from tubside.documents.parties import DocumentMachine
from tubside.economics.warranty import Cover, Terms
from tubside.errors import FactError
from tubside.service import records
from tubside.service.after_records import Disposed, Thing, WarrantyGiven, Way
from tubside.service.attachments import add_words
from tubside.service.library import Library
from tubside.service.money.quoting import machine_words
from tubside.service.money.shop_party import shop_party
from tubside.service.money.work_paper import customer_of
from tubside.service.replay import counting
from tubside.service.returns import (
    Closed,
    closed_job,
    earlier_jobs,
    linkable,
    open_return,
    returned_job,
    returns_of,
)
from tubside.service.unseen import serial_of
from tubside.service.views import JobView
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.pages.pdf import pdf_answer
from tubside.web.pages.people import ref_of
from tubside.web.pages.words import PAYER_NOTES, PAYER_WORDS, THING_WORDS, WAY_WORDS

MOST_DAYS = 3660


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """The page after the work."""
    view = desk.view(request.path_params["job"])
    if request.query_params.get("as") == "pdf":
        return _disposal(desk, view)
    earlier, called = returned_job(desk.store, view.entries), view.opened_at.astimezone().date()
    values = {
        "view": view,
        "payers": PAYER_WORDS,
        "payer_note": "" if view.payer is None else PAYER_NOTES[view.payer.who],
        "number": _words(view, view.payer.words if view.payer else None),
        "earlier": earlier,
        "covered": None if earlier is None else covered_words(earlier, called),
        "candidates": [] if earlier else earlier_jobs(desk.store, view.id),
        "causes": lambda closed: cause_titles(desk.library, closed),
        "own": closed_job(desk.store, view.id),
        "usual": Terms(),
        "today": desk.clock().astimezone().date(),
        "returns": returns_of(desk.store, view.id),
        "gone": _gone(view),
        "things": THING_WORDS,
        "ways": WAY_WORDS,
    }
    return desk.render(request, "after.html", values, 200)


def _disposal(desk: Desk, view: JobView) -> Response:
    """What went where, as a note on paper."""
    from tubside.documents.work_papers import disposal_pdf  # noqa: PLC0415  # loads the typesetter

    told = [body for body in counting(view.entries) if isinstance(body, Disposed)]
    note = DisposalNote(
        number=view.id[:8].upper(),
        dated=desk.clock().astimezone().date(),
        shop=shop_party(desk.store),
        customer=customer_of(view),
        machine=DocumentMachine(model=machine_words(view), serial=serial_of(view.entries) or ""),
        job=view.id[:8].upper(),
        items=tuple(
            DisposalItem(
                what=THING_WORDS[one.what],
                where_to=", ".join(filter(None, (WAY_WORDS[one.way], _words(view, one.words)))),
            )
            for one in told
        ),
    )
    return pdf_answer(disposal_pdf(note), "disposal")


def _words(view: JobView, ref: str | None) -> str:
    return "" if ref is None else (view.words.get(ref) or "")


def _gone(view: JobView) -> list[str]:
    told = [body for body in counting(view.entries) if isinstance(body, Disposed)]
    return [
        f"{THING_WORDS[one.what]}: {WAY_WORDS[one.way]}"
        + (f", {words}" if (words := _words(view, one.words)) else "")
        for one in told
    ]


def cause_titles(library: Library, closed: Closed) -> str:
    """What an earlier job was closed with, in the words of its pack where it is there."""
    family = closed.family if closed.family in library.families() else None
    pack = None if family is None else library.family(family).pack
    causes = {} if pack is None else pack.causes
    return ", ".join(causes[c].title if c in causes else c for c in closed.causes)


def day_words(day: date | datetime) -> str:
    """A day as people write it.

    >>> day_words(date(2026, 3, 4))
    '4 Mar 2026'
    """
    return f"{day.day} {day:%b %Y}"


def covered_words(closed: Closed, day: date) -> tuple[str, str]:
    """Who pays for work and for a part that failed again, and how long that holds.

    >>> from datetime import UTC
    >>> was = Closed("a", datetime(2026, 3, 2, 12, tzinfo=UTC), (), Terms(), True, None, None)
    >>> covered_words(was, date(2026, 6, 15))
    ('The part is covered, the work is not', 'Work until 31 May 2026, parts until 2 Mar 2027.')
    """
    found: Cover = closed.cover(day)
    said = {
        (True, True): "Work and part are covered: the shop pays",
        (True, False): "The work is covered, the part is not",
        (False, True): "The part is covered, the work is not",
        (False, False): "Neither work nor part is covered any more",
    }[found.labour, found.part]
    labour, part = day_words(found.labour_until), day_words(found.part_until)
    return said, f"Work until {labour}, parts until {part}."


def keep(desk: Desk, request: Request, form: Form) -> Response:
    """Keep one of the forms of the page."""
    job = request.path_params["job"]
    match form.one("do"):
        case "payer":
            body: records.Body = _payer(desk, job, form)
        case "link":
            body = linkable(desk.store, job, form.one("earlier"))
        case "return":
            opened = open_return(desk.store, job, desk.author(form.one("once")))
            return go(f"/jobs/{opened}/trouble")
        case "warranty":
            labour, part = (_days(form.one(name)) for name in ("labour_days", "part_days"))
            body = WarrantyGiven(labour_days=labour, part_days=part)
        case "gone":
            body = _disposed(desk, job, form)
        case _:
            msg = "nothing was told here; choose one of the buttons"
            raise FactError(msg)
    desk.keep(job, [body], form.one("once"))
    return go(f"/jobs/{job}/after")


def _payer(desk: Desk, job: str, form: Form) -> records.Payer:
    who = form.one("who")
    if who not in PAYER_WORDS:
        msg = "tap who pays"
        raise FactError(msg)
    excess = _cents(form.one("excess")) if form.one("excess") else None
    words = _kept_words(desk, job, form, "number")
    return records.Payer(who=cast("records.Payers", who), words=words, excess_cents=excess)


def _disposed(desk: Desk, job: str, form: Form) -> Disposed:
    what, way = form.one("what"), form.one("way")
    if what not in THING_WORDS or way not in WAY_WORDS:
        msg = "say what went, and where"
        raise FactError(msg)
    words = _kept_words(desk, job, form, "place")
    return Disposed(what=cast("Thing", what), way=cast("Way", way), words=words)


def _kept_words(desk: Desk, job: str, form: Form, name: str) -> str | None:
    """Words beside the facts; None where there are none."""
    text = form.one(name)
    if not text:
        return None
    ref = ref_of(form)
    add_words(desk.store, job, ref, text, desk.clock())
    return ref


def _days(text: str) -> int:
    if not (text.isascii() and text.isdigit()) or int(text[:6]) > MOST_DAYS:
        msg = f"'{text[:40]}' is no number of days; write one from 0 to {MOST_DAYS}"
        raise FactError(msg)
    return int(text)


def _cents(text: str) -> int:
    try:
        amount = round(float(text.replace(",", ".")) * 100)
    except (ValueError, OverflowError):
        amount = -1
    if not 0 <= amount <= 100_000_00:
        msg = f"'{text[:40]}' is no amount of money; write it like 85 or 85.50"
        raise FactError(msg)
    return amount
