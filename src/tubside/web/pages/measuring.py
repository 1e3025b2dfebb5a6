"""A reading on the page: what to expect, the number, and what it did."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response

from tubside.diagnosis.evidence import IS
from tubside.diagnosis.facts import evidence_of
from tubside.errors import FactError
from tubside.pack.fault_model import OBSERVERS
from tubside.pack.schema import Observer
from tubside.quantities import Question
from tubside.service import records
from tubside.service.coding import NOTHING_LEARNED, coded_facts
from tubside.service.expecting import Expectation, expectation
from tubside.service.measuring import NO_READING, told_number
from tubside.service.replay import source_of
from tubside.service.told import ToldFact
from tubside.service.views import JobView
from tubside.service.wording import SURPRISES, surprise_word
from tubside.web.pages.curve_drawing import Key, chart, keys
from tubside.web.pages.desk import Desk, Form, go

QUIET = (records.AdviceShown, records.CautionRead)


@dataclass(frozen=True, slots=True)
class Before:
    """What to expect of a reading: the chart, its key in words, the unit of the field."""

    unit: str
    good: str
    chart: Markup
    keys: tuple[Key, ...]
    sheet: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class After:
    """What the last reading said: the chart with its number, how odd it was, what it moved."""

    title: str
    chart: Markup | None
    keys: tuple[Key, ...]
    surprise: str
    words: tuple[str, ...]
    less_expected: int
    moved: tuple[tuple[str, float, float], ...]
    sheet: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Asked:
    """What is measured: by which check, by whom, its cautions, and where the form stands."""

    check: str
    by: Observer
    cautions: Sequence[records.Body]
    address: str


def before(view: JobView, check: str, by: Observer) -> Before | None:
    """What to expect of a check; None where it reads no number."""
    found = _expected(view, len(view.entries), check, by)
    if found is None:
        return None
    return Before(found.unit, found.good, chart(found), tuple(keys(found)), found.sheet)


def is_reading(view: JobView, check: str) -> bool:
    """Whether a check is told as a number."""
    entry = None if view.known is None else view.known.pack.checks.get(check)
    return entry is not None and entry.reading is not None


def after(view: JobView) -> After | None:
    """The last thing told, where it was a reading that moved the belief."""
    told = [(n, e) for n, e in enumerate(view.entries) if not isinstance(e.body, QUIET)]
    if not told or view.advice is None or view.known is None:
        return None
    place, entry = told[-1]
    weighed = [fact for fact in view.advice.weighed if fact.tail is not None]
    body = entry.body
    if entry.retracted_by or not isinstance(body, records.ReadingDone) or not weighed:
        return None
    return _after(view, place, body, weighed[-1])


def _after(view: JobView, place: int, body: records.ReadingDone, fact: ToldFact) -> After:
    assert view.known is not None
    assert fact.tail is not None
    found = _expected(view, place, body.check, body.by)
    drawn = None
    if found is not None:
        says = told_number(view.known, body.check, body.said, sure=True)
        one = view.known.model.checks[view.known.model.names.checks.index(body.check)]
        assert one.reading is not None
        number = (body.value - one.reading.shift) / one.reading.slope
        exact = not isinstance(says, Question) and says.says == IS
        drawn = chart(found, number if exact else None, body.said)
    return After(
        title=view.known.pack.checks[body.check].title,
        chart=drawn,
        keys=() if found is None else tuple(keys(found)),
        surprise=surprise_word(fact.tail),
        words=tuple(word for _, word in SURPRISES),
        less_expected=round(100.0 * fact.tail),
        moved=fact.moved,
        sheet=() if found is None else found.sheet,
    )


def _expected(view: JobView, upto: int, check: str, by: Observer) -> Expectation | None:
    """What to expect after the first ``upto`` entries."""
    if view.known is None:
        return None
    facts = coded_facts(source_of(view.entries[:upto]), view.known)
    evidence = evidence_of(view.known.model, facts)
    causes = () if view.advice is None else view.advice.causes
    leading = [(cause.id, cause.probability) for cause in causes]
    return expectation(view.known, evidence, leading, check, OBSERVERS.index(by))


def keep(desk: Desk, request: Request, view: JobView, form: Form, asked: Asked) -> Response:
    """Keep a number as a fact, or ask what was meant by it."""
    if view.known is None:
        msg = "name the machine first"
        raise FactError(msg)
    none = form.one("none") == "yes"
    text = NO_READING[0] if none else form.one("value")
    if not text:
        msg = "write the number that you read, or say that you could not look"
        raise FactError(msg)
    word = "" if none else {"over": "over ", "under": "under "}.get(form.one("says"), "")
    told = told_number(view.known, asked.check, word + text, sure=form.one("sure") == "yes")
    if isinstance(told, Question):
        return _ask(desk, request, view, form, asked, told)
    body = records.ReadingDone(check=asked.check, value=told.value, said=told.said, by=asked.by)
    desk.keep(view.id, [*asked.cautions, body], form.one("once"))
    return go(f"/jobs/{view.id}#after")


def _ask(
    desk: Desk, request: Request, view: JobView, form: Form, asked: Asked, question: Question
) -> Response:
    assert view.known is not None
    hidden = [("step", asked.check), *(("caution", c) for c in form.all("caution"))]
    values = {
        "view": view,
        "title": view.known.pack.checks[asked.check].title,
        "question": question.text,
        "choices": [choice.text for choice in question.alternatives],
        "hidden": hidden,
        "address": asked.address,
    }
    return desk.render(request, "reading_question.html", values, 200)


def nothing_told(form: Form) -> bool:
    """Whether the answer was that nothing could be read."""
    return form.one("outcome") in NOTHING_LEARNED
