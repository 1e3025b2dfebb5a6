"""``tubside solve`` as a page: the next step, what is proven, and the plan from the top."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console, Group, OverflowMethod, RenderableType
from rich.padding import Padding
from rich.panel import Panel
from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn
from rich.table import Column, Table
from rich.text import Text

from tubside.cli.look import BOLD, QUIET, RIM, Flow, Marks, heading, marks_of, page, sign
from tubside.diagnosis.solve.plan_drawing import figure, percent
from tubside.diagnosis.solve.plan_rows import PlanRow, plan_rows
from tubside.service.solving import Answer, Told, proven_words

SHOWN_ROWS = 14
COMPILING = "compiling the loops of the search, once: about a minute"
GOALS = {"working": "until it works", "identified": "until the cause is known"}


@contextmanager
def waiting() -> Iterator[tuple[Told | None, Callable[[], None]]]:
    """Show on a terminal that the search goes on and what is proven; a line on a compile always."""
    console = Console(stderr=True)
    if not console.is_terminal:
        yield None, lambda: console.print(COMPILING)
        return
    columns = SpinnerColumn("line"), TextColumn("{task.description}"), TimeElapsedColumn()
    with Progress(*columns, console=console, transient=True) as bar:
        task = bar.add_task("getting ready")

        def told(low: float, high: float, states: int) -> None:
            said = f"the best plan costs {figure(low)} to {figure(high)}; {states:,} states seen"
            bar.update(task, description=said)

        yield told, lambda: bar.update(task, description=COMPILING)


def print_answer(answer: Answer, file: str, console: Console | None = None) -> None:
    """Print an answer; ``file`` names it where the problem has no title."""
    console = page(console)
    marks = marks_of(console)
    for part in _page(marks, answer, file, console.width):
        console.print(part)


def _page(marks: Marks, answer: Answer, file: str, width: int) -> Iterator[RenderableType]:
    problem = answer.problem
    faults = "one cause" if problem.single_fault else "any causes"
    yield sign(marks.words(problem.title or file), f"{GOALS[problem.goal]}, {faults}", width)
    yield Text("")
    rows = [] if answer.plan is None else plan_rows(problem, answer.plan, SHOWN_ROWS)
    if rows:
        yield _first(marks, rows[0])
        yield Text("")
    yield heading("What is proven")
    for sentence in proven_words(answer):
        yield Padding(Flow(marks.words(sentence)), (0, 0, 0, 2))
    if len(rows) > 1:
        yield Text("")
        yield heading("The plan, with what it costs to the end from each step")
        yield _outline(marks, rows)
    yield Text("")
    took = "less than a second" if answer.seconds < 1 else f"{answer.seconds:.0f} s"
    yield Text(f"By policy {answer.policy}, in {took}.", style=QUIET)


def _first(marks: Marks, row: PlanRow) -> RenderableType:
    """The first step in its blue rim."""
    rest = f"The job to its end about {figure(row.rest)} on average, this included."
    if row.kind == "stop":
        rest = f"Costs {figure(row.rest)}, and ends the job."
    inside = Group(
        Text(marks.words(row.name), style=BOLD), Flow(f"{row.kind.capitalize()}. {rest}")
    )
    title = Text(" Next step ", style=BOLD)
    return Panel(
        inside, box=marks.thin, title=title, title_align="left", border_style=RIM, padding=(0, 1)
    )


def _outline(marks: Marks, rows: list[PlanRow]) -> RenderableType:
    """The plan from the top: what came of the step above, and what is then to be done."""
    long: OverflowMethod = "crop" if marks.poor else "ellipsis"
    step_column = Column(ratio=1, no_wrap=True, overflow=long)
    table = Table.grid(step_column, Column(justify="right"), Column(justify="right"))
    table.expand = True
    table.padding = (0, 0, 0, 2)
    for row in rows:
        came = f"{row.outcome} {percent(row.chance)} {marks.then} " if row.outcome else ""
        step = Text("  " * (row.indent + 1))
        step.append(marks.words(came), QUIET)
        step.append(marks.words(row.name or "done"), BOLD if row.name else "")
        table.add_row(step, Text(_beside(row), style=QUIET), _rest(row))
    return table


def _beside(row: PlanRow) -> str:
    works = f"works {percent(row.works)}" if row.works > 0 else ""
    folded = f"{row.folded} more steps" if row.folded > 1 else "one more step" * row.folded
    return ", ".join(part for part in (works, folded) if part)


def _rest(row: PlanRow) -> str:
    if not row.kind:
        return ""
    return figure(row.rest)
