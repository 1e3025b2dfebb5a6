"""``tubside next`` as a page: danger, machine, belief, next step, and how far to trust it.

The order is fixed: what can hurt stands before what to do, on the whole page and
in every step.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Column, Table
from rich.text import Text

from tubside.cli.look import (
    BOLD,
    QUIET,
    STOP,
    Flow,
    Marks,
    capital,
    heading,
    large_tub,
    marks_of,
    page,
    sign,
    strip,
    tub,
)
from tubside.cli.plan_page import plan_lines, plan_tree
from tubside.cli.step_page import RUNNERS_UP, next_step, runners_up
from tubside.diagnosis.belief import finished
from tubside.pack.fault_model import HEALTHY_IDS
from tubside.service.advise import Advice, CauseChance
from tubside.service.planning import ToldPlan
from tubside.service.telling import safety_steps, told_steps, top_causes
from tubside.service.wording import (
    at_most,
    chance_word,
    decibans,
    not_looked_at,
    percent,
    strength,
    surprise_word,
)

SHOWN_CAUSES = 6
LEAST_SHOWN = 0.01
MATTERS = 0.05
EXPECTED = "not at all"
"""Readings that surprise nobody are not called surprising."""


def print_advice(
    advice: Advice,
    console: Console | None = None,
    *,
    plan: ToldPlan | None = None,
    tree: bool = False,
) -> None:
    """Print all that is said about a job; the terminal is asked what it can show.

    ``tree`` unfolds the plan, where there is one.
    """
    console = page(console)
    marks = marks_of(console)
    for part in _page(marks, advice, console.width, plan):
        console.print(part)
    if plan is not None and tree:
        for part in plan_tree(marks, plan):
            console.print(part)


def _page(
    marks: Marks, advice: Advice, width: int, plan: ToldPlan | None
) -> Iterator[RenderableType]:
    yield from danger(marks, advice)
    yield from machine(marks, advice, width)
    yield Text("")
    yield from on_the_line(marks, advice)
    yield Text("")
    yield from belief(marks, advice)
    yield Text("")
    yield from _steps(marks, advice, plan)
    yield from _left_out(advice)


def danger(marks: Marks, advice: Advice) -> Iterator[RenderableType]:
    """What comes before all else once somebody may be hurt."""
    for step in safety_steps(advice):
        harm = f"{capital(step.danger.replace('-', ' '))} was reported: make it safe first."
        yield strip(marks, "STOP", harm, step.say, STOP)


def machine(marks: Marks, advice: Advice, width: int) -> Iterator[RenderableType]:
    """The sign: which machine, how old, where we stand."""
    pack, panel = advice.known.pack, advice.known.panel
    where = "at the machine" if advice.situation.on_site else "on the phone"
    age = advice.situation.age_years
    told = "" if age is None else f"{age:g} years old" if age != 1 else "1 year old"
    name = pack.title if panel is None else panel.name
    yield sign(marks.words(name), where, width)
    about = [text for text in (pack.title if panel is not None else "", told) if text]
    if about:
        yield Text(f" {marks.words(', '.join(about))}", style=QUIET)


def on_the_line(marks: Marks, advice: Advice) -> Iterator[RenderableType]:
    """Every fact, and how much it speaks for or against the leading cause."""
    yield heading("On the line")
    leading = top_causes(advice, 1)[0]
    title = marks.words(advice.known.pack.causes[leading[0]].title)
    signs = f"{marks.speaks_for} speaks for, {marks.speaks_against} against: {title}"
    yield Padding(Flow(signs, QUIET), (0, 0, 0, 2))
    table = Table.grid(Column(), Column(no_wrap=True), Column(justify="right"), padding=(0, 2))
    for weighed in advice.weighed:
        weight = float(weighed.weight_db[leading[1]])
        word = EXPECTED if weighed.tail is None else surprise_word(weighed.tail)
        odd = "" if word == EXPECTED else f"; surprising: {word}"
        table.add_row(
            Padding(f"{marks.words(capital(weighed.fact.label))}{odd}", (0, 0, 0, 2)),
            f"{direction(marks, weight)} {strength(weight)}",
            decibans(weight),
        )
    yield table


def direction(marks: Marks, weight_db: float) -> str:
    """The mark of a fact that speaks for or against, or does neither."""
    if strength(weight_db) == "no weight":
        return marks.neither
    return marks.speaks_for if weight_db > 0 else marks.speaks_against


def belief(marks: Marks, advice: Advice) -> Iterator[RenderableType]:
    """The leading causes as tubs of water, and what else may be the matter."""
    over = finished(advice.evidence)
    yield heading("What was probably wrong" if over else "What is likely wrong")
    shown = [c for c in advice.causes[:SHOWN_CAUSES] if c.probability >= LEAST_SHOWN]
    yield tubs(marks, shown)
    for sentence in _beside(advice, shown):
        yield Padding(Flow(marks.words(sentence), QUIET), (0, 0, 0, 2))


def tubs(marks: Marks, shown: Sequence[CauseChance]) -> RenderableType:
    """One row a cause: water level, number, plain word; the first one large."""
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(justify="right", no_wrap=True, min_width=10)
    table.add_column(justify="right", no_wrap=True)
    table.add_column(no_wrap=True)
    table.add_column()
    for place, cause in enumerate(shown):
        after = shown[1].probability if place == 0 and len(shown) > 1 else None
        first = place == 0
        word = chance_word(cause.probability, after or (0.0 if first else None))
        number, title = percent(cause.probability), marks.words(capital(cause.title))
        if first:
            cells = [Text(f"\n{text}", style=BOLD) for text in (number, word, title)]
            table.add_row(large_tub(marks, cause.probability), *cells)
        else:
            table.add_row(tub(marks, cause.probability), number, word, title)
    return table


def _beside(advice: Advice, shown: Sequence[CauseChance]) -> Iterator[str]:
    """What the tubs do not say: the others, two at once, nothing wrong, not today."""
    others = [c for c in advice.causes if c not in shown]
    if others:
        yield f"{len(others)} others, none above {at_most(others[0].probability)}."
    pairs = _two_or_more(advice)
    if pairs >= LEAST_SHOWN:
        yield f"Two or more causes at once: {percent(pairs)}."
    for cause in others:
        if cause.id in HEALTHY_IDS and cause.probability >= LEAST_SHOWN:
            yield f"{capital(cause.title)}: {percent(cause.probability)}."
    if advice.not_showing >= MATTERS:
        today = percent(advice.not_showing)
        yield f"Something is wrong but would not show on a run today: {today}."


def _two_or_more(advice: Advice) -> float:
    rows = advice.belief.rows
    state = rows.sets.members if finished(advice.evidence) else rows.now
    return float(advice.belief.probability[np.sum(state, axis=1) > 1].sum())


def _steps(marks: Marks, advice: Advice, plan: ToldPlan | None) -> Iterator[RenderableType]:
    told = told_steps(advice, RUNNERS_UP + 1)
    if not told:
        yield from _over(advice)
        return
    first = told[0] if plan is None else replace(told[0], expected_cost=plan.expected)
    yield next_step(marks, first, "Once it is safe" if advice.dangers else "Next step")
    paying = sum(step.pays for step in advice.steps[1 : RUNNERS_UP + 1])
    if paying:
        yield Text("")
        yield runners_up(marks, told[: 1 + paying])
    if plan is not None:
        yield from plan_lines(marks, plan)


def _over(advice: Advice) -> Iterator[RenderableType]:
    """After a re-run that passed: what it proves, and what it does not."""
    yield heading("It runs")
    left = 1.0 - advice.belief.mended() - float(advice.belief.healthy().sum())
    yield Text(f"  The re-run passed. Chance that something is left: {percent(max(left, 0.0))}.")
    yield Text("  Confirm the cause you found; test it safe before you hand it over.")


def _left_out(advice: Advice) -> Iterator[RenderableType]:
    yield Text("")
    pack, model = advice.known.pack, advice.known.model
    yield Text(not_looked_at(advice.belief.left_out), style=QUIET)
    yield Text(f"By the numbers of pack {pack.family}, {model.digest[:12]}.", style=QUIET)
