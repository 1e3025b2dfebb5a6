"""``tubside pack check``: every mistake of a pack, then what its numbers reproduce."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from tubside.errors import PackError, Problem
from tubside.machine.contradictions import played_report
from tubside.pack.reading import read_pack
from tubside.pack.report import prior_report
from tubside.service.pack_checking import checked_pack

EXIT_ERRORS = 1


@click.command("check")
@click.argument("folder", metavar="PATH", type=click.Path(path_type=Path, exists=True))
@click.pass_context
def check_command(ctx: click.Context, folder: Path) -> None:
    """Tell what cannot be true in the pack in folder PATH.

    Errors come first, each with file and line, then warnings. A pack without
    errors is compiled, its machine plays 1,000 cycles with each cause that moves
    it, and what contradicts the causes' reports is told; then the shares that the
    pack's numbers reproduce are printed. The exit code is 1 if there are errors.
    """
    try:
        source = read_pack(folder)
    except PackError as wrong:
        _print_problems(wrong.problems, "error")
        ctx.exit(EXIT_ERRORS)
    found = checked_pack(source)
    _print_problems(found.errors, "error")
    _print_problems(found.warnings, "warning")
    if found.model is None or found.errors:
        ctx.exit(EXIT_ERRORS)
    lines = prior_report(source, found.model)
    if found.cycles is not None:
        lines += ["", *played_report(source, found.model, found.cycles)]
    click.echo("\n".join(lines))


def _print_problems(problems: Sequence[Problem], kind: str) -> None:
    """Print problems with their kind, and how many there are."""
    for problem in problems:
        place = f"{problem.file}:{problem.line}"
        click.echo(f"{place}: {kind}: {problem.what}; {problem.mend}")
    if problems:
        click.echo(f"{len(problems)} {kind}{'s' if len(problems) > 1 else ''}\n")
