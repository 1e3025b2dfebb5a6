"""A played job in the terminal: the call, then each step, its answer, and what it changed."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from tubside.cli.advice_page import danger, direction, machine, on_the_line, tubs
from tubside.cli.demo_job import DemoFile
from tubside.cli.look import (
    BOLD,
    COPPER_BOLD,
    QUIET,
    Flow,
    Marks,
    capital,
    heading,
    marks_of,
    strip,
)
from tubside.cli.step_page import instruction
from tubside.service.advise import Advice
from tubside.service.explain import ToldStep, told_step
from tubside.service.play import Played, Turn
from tubside.service.telling import top_causes
from tubside.service.wording import decibans, dollars, minutes, not_looked_at, percent, strength

CALL_CAUSES, TURN_CAUSES = 5, 3
INDENT = (0, 0, 0, 4)
RERUN = {"works": "it runs again", "still-fails": "it fails again"}


def print_opening(console: Console, count: int) -> None:
    """What is about to be shown, and what of it is real."""
    console.print(heading("Mill Lane Laundry Repairs, two vans, in the town of Elverdale"))
    text = (
        f"{count} calls of one morning. Town, people and machines are invented; the chances, costs "
        "and cautions are those of the packs. What is really wrong stays hidden: each step below "
        "is the one that the advice puts first, and the answer is what the hidden fault gives."
    )
    console.print(Flow(text))


def print_played(console: Console, number: int, file: DemoFile, played: Played) -> None:
    """One job from the call to its end."""
    marks = marks_of(console)
    console.print()
    title = Text(f" Call {number}: {marks.words(file.title)} ", style=COPPER_BOLD)
    console.rule(title, characters=marks.line)
    for part in _call(marks, file, played, console.width):
        console.print(part)
    for step, turn in enumerate(played.turns, start=1):
        console.print()
        for part in _turn(marks, step, turn):
            console.print(part)
    console.print()
    for part in _end(marks, file, played):
        console.print(part)


def print_closing(console: Console) -> None:
    """Where to go from here."""
    console.print()
    console.rule(style=QUIET, characters=marks_of(console).line)
    console.print(Flow("Write down a job of your own and ask: tubside next job.yaml"))
    console.print(Flow("The ids it may use: tubside next --list top_load"))


def _call(marks: Marks, file: DemoFile, played: Played, width: int) -> Iterator[RenderableType]:
    first = played.first
    yield Flow(marks.words(f"{file.who}: “{file.told}”"))
    yield Text("")
    yield from danger(marks, first)
    yield from machine(marks, first, width)
    if first.dangers:
        return
    yield from on_the_line(marks, first)
    yield heading("What is likely wrong")
    yield tubs(marks, first.causes[:CALL_CAUSES])
    yield Padding(Flow(_ahead(first), QUIET), INDENT)


def _ahead(advice: Advice) -> str:
    expected = dollars(advice.steps[0].expected_cost)
    return f"From here to the end of the job: about {expected} on average."


def _turn(marks: Marks, number: int, turn: Turn) -> Iterator[RenderableType]:
    step = told_step(turn.before, turn.step)
    where = "At the machine" if turn.before.situation.on_site else "On the phone"
    title = marks.words(capital(step.title))
    yield Text.assemble((f"{number:>2}  ", COPPER_BOLD), (f"{where}: {title}", BOLD))
    yield Padding(Group(*_done(marks, step, turn)), INDENT)


def _done(marks: Marks, step: ToldStep, turn: Turn) -> Iterator[RenderableType]:
    for caution in step.cautions:
        yield strip(marks, "CAUTION", caution.harm, caution.do)
    yield instruction(marks, step)
    yield Flow(f"Why: {marks.words(step.why)}.", QUIET)
    if turn.outcome is not None:
        yield Text(f"{marks.then} {_answer(marks, step, turn.outcome)}", style=BOLD)
        yield Flow(_moved(marks, turn))
        yield tubs(marks, turn.after.causes[:TURN_CAUSES])
    yield Flow(_spent(step, turn), QUIET)


def _answer(marks: Marks, step: ToldStep, outcome: str) -> str:
    words = RERUN.get(outcome) or dict(step.outcomes).get(outcome, outcome)
    who = "the customer" if step.who == "customer" else "the technician"
    return f"{capital(marks.words(words))} ({who})"


def _moved(marks: Marks, turn: Turn) -> str:
    """How far the last fact moved what leads now."""
    name, index = top_causes(turn.after, 1)[0]
    title = turn.after.known.pack.causes[name].title
    before = next(c.probability for c in turn.before.causes if c.id == name)
    after = next(c.probability for c in turn.after.causes if c.id == name)
    weight = float(turn.after.weighed[-1].weight_db[index])
    way = "against" if weight < 0 else "for"
    said = f"{direction(marks, weight)} {strength(weight)} {way} {title} ({decibans(weight)})"
    return marks.words(f"{said}: {percent(before)} before, {percent(after)} now.")


def _spent(step: ToldStep, turn: Turn) -> str:
    takes = f"{minutes(step.minutes)}, " if step.minutes else ""
    told = f"{takes}{dollars(step.cost)}; spent so far {dollars(turn.spent)}."
    more = turn.after.steps
    if turn.outcome is None and step.kind != "visit":
        return capital(told)
    return f"{told} About {dollars(more[0].expected_cost)} more to the end." if more else told


def _end(marks: Marks, file: DemoFile, played: Played) -> Iterator[RenderableType]:
    """How it ended, what it was, and what it cost against what was expected."""
    pack = played.first.known.pack
    yield Text(f"{marks.then} {_ended(played)}", style=BOLD)
    if played.end == "made safe":
        yield Padding(Flow(marks.words(file.found)), INDENT)
        return
    truth = marks.words(pack.causes[played.truth.cause].title)
    chance = percent(next(c.probability for c in played.last.causes if c.id == played.truth.cause))
    yield Padding(Flow(marks.words(file.found)), INDENT)
    was = "Cause confirmed" if played.end == "mended" else "What it really was"
    yield Padding(Flow(f"{was}: {truth}; at the end it stood at {chance}."), INDENT)
    expected = dollars(played.first.steps[0].expected_cost)
    cost = (
        f"Cost to both sides: {dollars(played.spent)}; at the call {expected} was to be expected."
    )
    yield Padding(Flow(cost), INDENT)
    left_out = max(advice.belief.left_out for advice in (played.first, played.last))
    yield Padding(Flow(not_looked_at(left_out), QUIET), INDENT)


def _ended(played: Played) -> str:
    site = played.last.situation.on_site
    return {
        "mended": "It runs again." if site else "It runs again, and no van has moved.",
        "made safe": "Stopped at once: it is made safe before anything is asked.",
        "handed over": "Handed over to the trade that it belongs to.",
        "not worth repairing": "Not worth repairing, and said so before the van has moved."
        if not site
        else "Not worth repairing.",
        "back to seller": "Back to the seller or insurer.",
        "stuck": "Nothing is left to try.",
    }[played.end]
