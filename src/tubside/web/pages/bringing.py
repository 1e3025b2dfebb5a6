"""Bring a list of old jobs in: looked at first, its columns and words told, then kept whole."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import get_args

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import HistoryError
from tubside.learning.history import SURE, ClosedJob
from tubside.pack.schema import Cause, Condition, Pack
from tubside.service.learning.bringing import (
    Brought,
    bring_in,
    brought_jobs,
    looked_at,
    take_out,
)
from tubside.service.learning.old_columns import FIELDS, Layout, is_open_repair, missing
from tubside.service.learning.old_days import Order
from tubside.service.learning.old_rows import LEFT_OUT, OTHERS, UNKNOWN
from tubside.service.learning.words import cause_title
from tubside.service.roles import check_office
from tubside.web.pages.desk import Desk, Form, go
from tubside.web.security.login_page import session_in

MOST_WORDS = 40
"""So many new words are asked for at once; the next ones come with the next look."""
MANY_WORDS = 60
"""A column of so many different words is hardly one of words that can be told."""
MOST_SHOWN = 8
MOST_WRONG = 50
SURE_WORDS = {
    "remedy-worked": "a remedy worked",
    "seen": "it was seen",
    "measured": "it was measured",
    "re-run": "a re-run passed",
    "not-confirmed": "nobody made sure",
}


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """The form, empty."""
    _check(request)
    return _page(desk, request, None, "", 200)


def bring(desk: Desk, request: Request, form: Form) -> Response:
    """Look at a list, or keep it."""
    _check(request)
    if form.one("do") == "out":
        take_out(desk.store)
        return go("/learning-bring")
    if form.photo is None:
        return _page(desk, request, None, "choose the file again: a page cannot keep it", 422)
    try:
        now = desk.clock()
        layout = _layout(form) if form.one("columns") == "told" else None
        found = looked_at(
            desk.store, desk.library, form.photo, now, layout, anew=form.one("anew") == "yes"
        )
        if form.one("do") == "keep":
            found = bring_in(desk.store, desk.library, form.photo, now)
    except HistoryError as wrong:
        refused = _looked_again(desk, form)
        return _page(desk, request, refused, str(wrong), 422)
    return _page(desk, request, found, "", 200)


def _looked_again(desk: Desk, form: Form) -> Brought | None:
    """What is to be mended, where the file can be read at all."""
    try:
        return looked_at(desk.store, desk.library, form.photo or b"", desk.clock())
    except HistoryError:
        return None


def _layout(form: Form) -> Layout:
    """Columns and words as they were told."""
    words: dict[str, dict[str, str]] = {}
    for name, values in form.fields.items():
        field, _, word = name.partition(":")
        if field in FIELDS and word and values[0]:
            words.setdefault(field, {})[word.casefold()] = values[0]
    sure, order = form.one("sure_default"), form.one("order")
    return Layout(
        columns={field: form.one(f"in-{field}") for field in FIELDS if form.one(f"in-{field}")},
        words=words,
        order="month-day" if order == "month-day" else "day-month",
        family=form.one("all_family"),
        sure=next((known for known in SURE if known == sure), "remedy-worked"),
    )


def _page(desk: Desk, request: Request, found: Brought | None, wrong: str, status: int) -> Response:
    values: dict[str, object] = {
        "found": found,
        "wrong": wrong,
        "there": len(brought_jobs(desk.store)),
        "fields": FIELDS,
        "orders": get_args(Order),
        "sure_words": SURE_WORDS,
        "asked": [],
        "sample": [],
        "open_standard": False,
        "most": MOST_SHOWN,
        "shown": MOST_WRONG,
    }
    if found is not None:
        values |= _of(desk, found)
    return desk.render(request, "learning_bring.html", values, status)


def _of(desk: Desk, found: Brought) -> Mapping[str, object]:
    packs = {name: desk.library.family(name).pack for name in desk.library.families()}
    families = [(name, pack.title) for name, pack in packs.items()]
    asked = [_asked(packs, families, one) for one in sorted(found.taken.unknown_words[:MOST_WORDS])]
    fields = Counter(field for field, _, _ in found.taken.unknown_words)
    return {
        "families": families,
        "asked": asked,
        "unasked": len(found.taken.unknown_words) - len(asked),
        "many": [(field, often) for field, often in fields.items() if often >= MANY_WORDS],
        "others": OTHERS,
        "asked_fields": [field for field in fields if field != "family"],
        "sample": [_told(packs, job) for job in list(found.taken.jobs.values())[:MOST_SHOWN]],
        "open_standard": is_open_repair(found.sheet),
        "unsaid": missing(found.sheet, found.layout),
        "left_out": LEFT_OUT,
        "unknown": UNKNOWN,
    }


def _asked(
    packs: Mapping[str, Pack], families: list[tuple[str, str]], one: tuple[str, str, int]
) -> Mapping[str, object]:
    """A word that is asked for, what it is of, and what it may mean there."""
    field, key, often = one
    family, _, word = key.partition("/")
    asked = {"field": field, "key": key, "word": key, "of": "", "often": often}
    if field == "family":
        return {**asked, "choices": families}
    pack = packs[family]
    told: Mapping[str, Cause | Condition] = pack.causes if field == "cause" else pack.conditions
    choices = sorted(((n, it.title) for n, it in told.items()), key=lambda it: it[1].casefold())
    return {**asked, "word": word, "of": pack.title, "choices": choices}


def _told(packs: Mapping[str, Pack], job: ClosedJob) -> Mapping[str, object]:
    """A job as it would be kept, in the words of its own pack."""
    pack = packs[job.family]
    causes = [cause_title(name, pack) for name in job.causes]
    return {
        "closed": job.closed,
        "machine": pack.title,
        "trouble": pack.conditions[job.complaint].title if job.complaint else "",
        "cause": ", ".join(causes) or "cause not known",
        "age": job.age_years,
    }


def _check(request: Request) -> None:
    session = session_in(request)
    check_office(None if session is None else session.user, "bring old jobs in")
