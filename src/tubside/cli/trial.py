"""``tubside trial``: simulated calls worked by every policy, side by side."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict, Unpack, get_args

import click

from tubside.pack.home import families
from tubside.service.trials import (
    WORLDS,
    Plan,
    WorldName,
    as_data,
    picture,
    try_out,
    try_own_check,
)

if TYPE_CHECKING:
    from rich.progress import Progress, TaskID

    from tubside.trial.running import Result


class Given(TypedDict):
    """The options as they were given."""

    families: tuple[str, ...]
    worlds: tuple[WorldName, ...]
    calls: int
    seed: int
    workers: int
    scheduler: str | None
    as_json: bool
    plot: Path | None
    packs: Path | None
    own_check: bool


@click.command("trial")
@click.option(
    "--family", "families", multiple=True, help="Family to try; every one with a pack if none."
)
@click.option(
    "--world",
    "worlds",
    multiple=True,
    type=click.Choice(get_args(WorldName)),
    help="What the calls obey: the pack, other weights, or everything disturbed; all if none.",
)
@click.option(
    "--calls",
    default=100,
    show_default=True,
    type=click.IntRange(1, 1_000_000),
    help="Calls in each family and world.",
)
@click.option(
    "--seed",
    type=click.IntRange(min=0),
    default=1,
    show_default=True,
    help="Same seed, same result.",
)
@click.option(
    "--workers",
    default=1,
    show_default=True,
    type=click.IntRange(1, 256),
    help="Processes to share the calls; the result is the same.",
)
@click.option(
    "--scheduler",
    metavar="ADDRESS",
    help="Dask scheduler of a cluster to share the calls, as tcp://10.0.0.5:8786.",
)
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of a table.")
@click.option("--plot", type=click.Path(path_type=Path, dir_okay=False), help="Write a drawing.")
@click.option(
    "--own-check",
    is_flag=True,
    help="Try the customer's own check instead: how many calls end without a visit.",
)
@click.option("--packs", type=click.Path(path_type=Path, file_okay=False), help="Folder of packs.")
def trial_command(**given: Unpack[Given]) -> None:
    """Work simulated calls with every policy, and tell what each one costs.

    Every policy meets the same calls and the same luck, and shares one phone stage;
    docs/trial.md tells what is assumed.
    """
    plans = [
        Plan(family, world, given["calls"], given["seed"])
        for family in given["families"] or families(given["packs"])
        for world in given["worlds"] or WORLDS
    ]
    if given["own_check"]:
        _own_checks(plans, given)
        return
    found = _all(plans, given)
    if given["plot"] is not None:
        given["plot"].write_text(picture(found), encoding="utf-8")
    _print(found, as_json=given["as_json"])


def _own_checks(plans: list[Plan], given: Given) -> None:
    """Try and print the customer's own check, one family and world after the other."""
    from tubside.cli.own_check_table import print_own_checks  # noqa: PLC0415  # heavy imports

    if given["plot"] is not None or given["workers"] > 1:
        msg = "--own-check goes without --plot and --workers"
        raise click.UsageError(msg)
    found = [(plan, try_own_check(plan, given["packs"])) for plan in plans]
    print_own_checks(found, as_json=given["as_json"])


def _all(plans: list[Plan], given: Given) -> list[tuple[str, Result]]:
    """Run the trials one after the other, with a bar for each."""
    from rich.console import Console  # noqa: PLC0415  # heavy imports stay inside the command
    from rich.progress import Progress  # noqa: PLC0415

    from tubside.learning.spreading import sharing  # noqa: PLC0415

    found: list[tuple[str, Result]] = []
    with (
        Progress(console=Console(stderr=True), transient=True) as progress,
        sharing(given["workers"], given["scheduler"]) as pool,
    ):
        for plan in plans:
            task = progress.add_task(f"{plan.family}, {plan.world}", total=plan.calls)
            done = partial(_tell, progress, task)
            found.append((plan.family, try_out(plan, given["packs"], pool, done)))
    return found


def _tell(progress: Progress, task: TaskID, finished: int) -> None:
    progress.update(task, completed=finished)


def _print(found: list[tuple[str, Result]], *, as_json: bool) -> None:
    if as_json:
        import msgspec  # noqa: PLC0415

        data = [as_data(family, result) for family, result in found]
        click.echo(msgspec.json.format(msgspec.json.encode(data), indent=2).decode())
        return
    from tubside.cli.trial_table import print_trial  # noqa: PLC0415

    for family, result in found:
        print_trial(family, result)
