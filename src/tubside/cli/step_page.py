"""The next step as it is read by somebody with wet hands: what can hurt comes first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import Group, RenderableType
from rich.panel import Panel
from rich.table import Column, Table
from rich.text import Text

from tubside.cli.look import BOLD, QUIET, RIM, Flow, Marks, capital, heading, strip
from tubside.service.coding import NOTHING_LEARNED
from tubside.service.explain import ToldReading, ToldStep
from tubside.service.wording import dollars, minutes

RUNNERS_UP = 4
ALIKE = 0.5
"""Two steps nearer than this are alike [dollars]."""
ENDINGS = ("refer", "scrap", "return")


def next_step(marks: Marks, step: ToldStep, title: str = "Next step") -> RenderableType:
    """One step in its blue rim: cautions, instruction, outcomes, what it takes, and why."""
    return Panel(
        Group(*_inside(marks, step)),
        box=marks.thin,
        title=Text(f" {title} ", style=BOLD),
        title_align="left",
        border_style=RIM,
        padding=(0, 1),
    )


def _inside(marks: Marks, step: ToldStep) -> Iterator[RenderableType]:
    yield Text(marks.words(capital(step.title)), style=BOLD)
    for caution in step.cautions:
        yield strip(marks, "CAUTION", caution.harm, caution.do)
    yield instruction(marks, step)
    if step.reading is not None:
        yield Text("")
        yield _expected(marks, step.reading)
    elif step.kind in {"check", "remedy"}:
        yield Text("")
        yield _outcomes(marks, step)
    yield Text("")
    yield Flow(worth(step), BOLD)
    yield Flow(f"Why: {marks.words(step.why)}.")


def instruction(marks: Marks, step: ToldStep) -> Text:
    """What to do, or the words to read out."""
    if step.say is not None:
        return Text.assemble(("Read out: ", BOLD), marks.words(f"“{step.say}”"))
    return Text.assemble(("Do: ", BOLD), marks.words(step.do))


def _expected(marks: Marks, reading: ToldReading) -> RenderableType:
    """The number to be read, and where to expect it."""
    table = Table.grid(Column(min_width=34), Column(), padding=(0, 2))
    for title, words in (("as it should be", reading.good), *reading.expects):
        table.add_row(f"  {marks.bullet} {marks.words(title)}", marks.words(words))
    for word in NOTHING_LEARNED:
        table.add_row(f"  {marks.bullet} {word}", Text(f"outcome: {word}", style=QUIET))
    asked = f"Tell the number: value: ... {marks.words(reading.unit)}".rstrip()
    sheet = [Flow(f"Reckoned with {marks.words(said)}.") for said in reading.sheet]
    return Group(Text(asked, style=BOLD), *sheet, table)


def _outcomes(marks: Marks, step: ToldStep) -> RenderableType:
    """The answers to choose from, and beside them the word that a job file takes."""
    extra = ("not done",) if step.kind == "remedy" else NOTHING_LEARNED
    table = Table.grid(Column(min_width=34), Column(style=QUIET), padding=(0, 2))
    for name, words in (*step.outcomes, *((word, word) for word in extra)):
        table.add_row(f"  {marks.bullet} {marks.words(words)}", f"outcome: {name}")
    return Group(Text(_asked(step), style=BOLD), table)


def _asked(step: ToldStep) -> str:
    if step.kind == "remedy":
        return "Run it again. How does it go?"
    return "What did they find?" if step.who == "customer" else "What did you find?"


def worth(step: ToldStep) -> str:
    """What a step takes and costs, and what the whole job then costs on average."""
    takes = f"Takes {minutes(step.minutes)}. " if step.minutes else ""
    if step.kind in ENDINGS and step.kind != "refer":
        return f"{takes}Costs {dollars(step.cost)}, and ends the job."
    total = dollars(step.expected_cost)
    costs = (
        f"Costs {dollars(step.cost)}; the job to its end about {total} on average, this included"
    )
    return f"{takes}{costs}."


def runners_up(marks: Marks, steps: Sequence[ToldStep]) -> RenderableType:
    """What could be done instead, and how much dearer the job is then on average."""
    first, rest = steps[0], steps[1 : 1 + RUNNERS_UP]
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style=QUIET)
    for title in ("instead", "takes", "costs", "job dearer by"):
        table.add_column(title, justify="left" if title == "instead" else "right")
    for step in rest:
        dearer = step.expected_cost - first.expected_cost
        table.add_row(
            marks.words(capital(step.title)),
            minutes(step.minutes) if step.minutes else "",
            dollars(step.cost),
            dollars(dearer) if dearer >= ALIKE else "about the same",
        )
    return Group(heading("Runners-up"), table)
