"""What stands on the page of one trouble: the answer, the steps, and what to tell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tubside.guide.languages import Language
from tubside.guide.places import Machine
from tubside.guide.telling import can_clear, capital, made_ready, reasons, sentence
from tubside.service.customer_plan import ENDS, CustomerPlan, PlannedStep
from tubside.service.customer_steps import plan_of
from tubside.service.library import Library
from tubside.service.short_text import Book, Item, book_of
from tubside.service.step_pictures.choosing import StepPicture, picture_of


@dataclass(frozen=True, slots=True)
class Told:
    """One answer: its letters to be read out, its words, where it leads, its number."""

    letters: str
    words: str
    href: str
    goes: str
    number: int | None


@dataclass(frozen=True, slots=True)
class Shown:
    """One step on the page: cautions first, then what to do."""

    key: str
    number: str
    kind: str
    name: str
    title: str
    say: str
    cautions: Sequence[tuple[str, str]]
    ready: Sequence[str]
    picture: StepPicture
    minutes: str
    rerun: bool
    telling: bool
    aside: bool
    answers: Sequence[Told]


def answer_page(
    library: Library, machine: Machine, told: str, language: Language
) -> Mapping[str, object]:
    """All that the page of a trouble shows."""
    known = library.family(machine.pack.family) if machine.model is None else machine.known
    plan = plan_of(known, machine.model, told)
    book = book_of(known, machine.model)
    numbers = _numbers(plan)
    trouble: Item = ("indication" if plan.indication else "condition", told, "")
    return {
        "plan": plan,
        "means": [machine.pack.conditions[one].title for one in plan.conditions],
        "clear": can_clear(language, plan),
        "reasons": [language.said(sentence(one)) for one in reasons(machine.pack, plan)],
        "minutes": max(round(plan.minutes), 1),
        "steps": [_shown(one, numbers, book, language) for one in plan.steps],
        "prefix": book.prefix,
        "trouble": book.number(trouble),
        "no_danger": book.number(("danger", "none", "")),
        "ends": {end: book.number(("end", end, "")) for end in ENDS},
    }


def _numbers(plan: CustomerPlan) -> dict[str, str]:
    """Key of a step -> the number that stands on the page: 1, 2, 2a, 3."""
    numbers: dict[str, str] = {}
    main, aside = 0, 0
    for step in plan.steps:
        if step.aside:
            aside += 1
            numbers[step.key] = f"{main}{'abcdefgh'[aside - 1]}"
        else:
            main, aside = main + 1, 0
            numbers[step.key] = str(main)
    return numbers


def _shown(
    step: PlannedStep,
    numbers: Mapping[str, str],
    book: Book,
    language: Language,
) -> Shown:
    number, family = numbers[step.key], book.family
    answers = [
        Told(
            letters=f"{number}{chr(ord('A') + place)}",
            words=language.said(one.words),
            href=f"stop.html#{one.danger}" if one.danger else f"#{_anchor(one.to, numbers)}",
            goes=_goes(one.to, numbers, language),
            number=None if one.danger else book.number((step.kind, step.name, one.outcome)),
        )
        for place, one in enumerate(step.answers)
    ]
    minutes = max(round(step.minutes + step.rerun_minutes), 1)
    return Shown(
        key=_anchor(step.key, numbers),
        number=number,
        kind=step.kind,
        name=step.name,
        title=capital(language.said(step.title)),
        say=language.said(step.say),
        cautions=[
            (language.said(sentence(one.harm)), language.said(sentence(one.do)))
            for one in step.cautions
        ],
        ready=list(made_ready(language, step.fields)),
        picture=picture_of(family, step.name, step.fields),
        minutes=language.ngettext("about %(num)s minute", "about %(num)s minutes", minutes),
        rerun=step.kind == "remedy",
        telling=len({one.to for one in step.answers if one.danger is None}) == 1,
        aside=step.aside,
        answers=answers,
    )


def _anchor(to: str, numbers: Mapping[str, str]) -> str:
    return to if to in ENDS else f"step-{numbers[to]}"


def _goes(to: str, numbers: Mapping[str, str], language: Language) -> str:
    match to:
        case "cleared":
            return language.gettext("done")
        case "visit":
            return language.gettext("ring us")
        case "stop":
            return language.gettext("stop")
        case _:
            return language.gettext("go to %(number)s", number=numbers[to])
