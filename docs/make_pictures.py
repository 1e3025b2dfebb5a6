"""Draw the terminal pictures and print the outputs in the pages (``make pictures``).

Run it after a change of what ``tubside next`` or ``solve`` prints, or of the packs.

The same packs and job file always give the same picture. No font is fetched from
anywhere: what rich writes for that is taken out.
"""

from __future__ import annotations

import io
import re
import sys
from dataclasses import replace
from pathlib import Path

from rich.console import Console
from rich.terminal_theme import TerminalTheme

from tubside.cli.advice_page import print_advice
from tubside.cli.solve_page import print_answer
from tubside.diagnosis.solve.problem_file import read_problem
from tubside.service.advise import advise
from tubside.service.job_file import read_job
from tubside.service.knowledge import knowledge_of, knowledge_of_model
from tubside.service.moving.showing import Asked, overview, shown
from tubside.service.simulate import drawing, simulate
from tubside.service.solving import draw_plan, solve_problem

HERE = Path(__file__).parent
PROBLEMS = HERE / "examples" / "problems"
PICTURES = {"next": "call"}
"""Picture -> job file in ``examples``."""
PAGES = ("a-job-by-example", "solve")
OUTPUT = re.compile(r"(<!-- tubside (next|solve) ([\w.-]+) -->)\n```text\n.*?```", re.DOTALL)
PLAN = "drain.json"
"""The problem whose plan is drawn."""
CYCLE = ("aldermoor-tern", "suspension-worn")
"""Model and cause of the drawn cycle."""
MOVING = ("brackwater-wren", "two-four-five")
"""Model and indication of the moving picture, the still and the overview."""
WIDTH = 80
INK, ENAMEL = (31, 42, 48), (251, 250, 246)
# Only ink and ground are used: the page names its other colours itself.
WALL = TerminalTheme(ENAMEL, INK, [INK] * 8)
FACES = "ui-monospace, 'DejaVu Sans Mono', Menlo, Consolas, monospace"
CHANGES = {
    r"@font-face \{.*?\}\s*": "",  # no font from elsewhere
    r"font-family: [^;]*;": f"font-family: {FACES};",
    r"\s*<!--.*?-->": "",
    r'<g transform="translate\(26,22\)">.*?</g>': "",  # three lights that mean nothing here
    r"fill: #777d7f": "fill: #4a5960",  # the second voice, dark enough to read
    r"[ \t]+$": "",
}
"""What is changed in rich's drawing: pattern -> text in its place."""


def picture(job: Path) -> str:
    """Return the page of advice on a job file as SVG."""
    console = Console(
        width=WIDTH,
        record=True,
        file=io.StringIO(),
        force_terminal=True,
        color_system="truecolor",
        highlight=False,
        legacy_windows=False,
        _environ={},
    )
    source = read_job(job)
    print_advice(advise(source, knowledge_of(source.job)), console)
    title = f"tubside next {job.name}"
    svg = console.export_svg(title=title, theme=WALL, unique_id=job.stem)
    for pattern, ours in CHANGES.items():
        svg = re.sub(pattern, ours, svg, flags=re.DOTALL | re.MULTILINE)
    return svg


def printed(command: str, name: str) -> str:
    """Return the page that a command prints of a file in ``examples`` as plain text."""
    file = io.StringIO()
    console = Console(file=file, width=WIDTH, color_system=None, highlight=False, _environ={})
    if command == "next":
        source = read_job(HERE / "examples" / name)
        print_advice(advise(source, knowledge_of(source.job)), console)
    else:
        answer = solve_problem(read_problem(PROBLEMS / name))
        print_answer(replace(answer, seconds=0.0), name, console)  # the page cannot know
    return "\n".join(line.rstrip() for line in file.getvalue().splitlines())


def filled(page: str) -> str:
    """Return a page with each output below its marker printed anew."""

    def anew(found: re.Match[str]) -> str:
        return f"{found[1]}\n```text\n{printed(found[2], found[3])}\n```"

    return OUTPUT.sub(anew, page)


def cycle() -> str:
    """Return the drawing of one simulated cycle with a fault inside."""
    model, cause = CYCLE
    return drawing(simulate(knowledge_of_model(model), [cause]))


def moving() -> dict[str, bytes]:
    """Return a moving picture, a still for paper and an overview, by file name."""
    model, indication = MOVING
    known = knowledge_of_model(model)
    assert known.panel is not None
    return {
        "moving.svg": shown(known.panel, indication, Asked("svg")),
        "still.svg": shown(known.panel, indication, Asked("svg", still=True)),
        "overview.svg": overview(known.panel, known.pack, Asked("svg")),
    }


def main(folder: Path = HERE / "pictures") -> None:
    """Write every picture into ``folder``, and the outputs into the pages."""
    for name, job in PICTURES.items():
        path = folder / f"{name}.svg"
        path.write_text(picture(HERE / "examples" / f"{job}.yaml"), encoding="utf-8")
        print(path.name)
    draw_plan(solve_problem(read_problem(PROBLEMS / PLAN)), folder / "plan.svg")
    print("plan.svg")
    (folder / "cycle.svg").write_text(cycle(), encoding="utf-8")
    print("cycle.svg")
    for name, content in moving().items():
        (folder / name).write_bytes(content)
        print(name)
    for name in PAGES:
        path = HERE / f"{name}.md"
        path.write_text(filled(path.read_text(encoding="utf-8")), encoding="utf-8")
        print(path.name)


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
