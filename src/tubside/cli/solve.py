"""``tubside solve``: a troubleshooting problem in a file -> the best plan, with its proof."""

from __future__ import annotations

import math
from pathlib import Path

import click

POLICIES = ("exact", "advised", "pc", "cheapest", "likeliest", "informative")


def _finite(_ctx: click.Context, _parameter: click.Parameter, value: float | None) -> float | None:
    if value is not None and not math.isfinite(value):
        msg = "give a number of seconds"
        raise click.BadParameter(msg)
    return value


@click.command("solve")
@click.argument("problem", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--policy",
    type=click.Choice(POLICIES),
    default="exact",
    help="Whose plan: the best that is found, our advice, or a list of the trade.",
)
@click.option(
    "--seconds",
    type=click.FloatRange(0.0, 86_400.0, min_open=True),
    callback=_finite,
    help=(
        "Longest time for all of it. Default: 10, and about a minute on top where loops have"
        " to be compiled for the first time."
    ),
)
@click.option(
    "--seed",
    type=click.IntRange(0),
    default=0,
    help="For what is sampled; the same seed gives the same numbers.",
)
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of a page.")
@click.option(
    "--plot",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Draw the plan into this SVG file.",
)
def solve_command(  # one for each option
    problem: Path, policy: str, seconds: float | None, seed: int, as_json: bool, plot: Path | None
) -> None:
    """Find the best plan for a problem in a file.

    The plan that reaches the goal for the least expected cost, with what is proven of it.

    PROBLEM is a JSON file of causes, checks, remedies and stops with their chances and
    costs; docs/solve.md tells what may stand in it.
    """
    from tubside.cli.solve_page import print_answer, waiting  # noqa: PLC0415  # heavy imports
    from tubside.diagnosis.solve.problem_file import read_problem  # noqa: PLC0415
    from tubside.service.solving import Choice, solve_problem  # noqa: PLC0415

    read = read_problem(problem)
    chosen: Choice = policy  # type: ignore[assignment]  # click took no other
    with waiting() as (told, compiling):
        answer = solve_problem(read, chosen, seconds, seed, told, compiling)
    if plot is not None:
        from tubside.service.solving import draw_plan  # noqa: PLC0415

        draw_plan(answer, plot)
    if as_json:
        import msgspec  # noqa: PLC0415

        from tubside.service.solving import as_data  # noqa: PLC0415

        data = msgspec.json.encode(as_data(answer))
        click.echo(msgspec.json.format(data, indent=2).decode())
    else:
        print_answer(answer, problem.name)
