"""``tubside practise``: a hidden fault, your own steps, and the bill beside the advised plan's."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from tubside.cli.own import own_option, place_of, tell_unused
from tubside.errors import UnknownNameError

if TYPE_CHECKING:
    from tubside.service.knowledge import Knowledge
    from tubside.service.practice import Level, Practice

HELP = (
    "Type the name of a step, 'steps' for all that can be done now, 'facts' for what is\n"
    "known, or 'end' to give up."
)


@click.command("practise")
@click.option("--model", metavar="MODEL", help="Model: its id, or a word of it.")
@click.option("--family", default="top_load", show_default=True, help="Family, without a model.")
@click.option(
    "--level",
    default="1",
    show_default=True,
    type=click.Choice(["1", "2", "3"]),
    help="How hard the fault is to find.",
)
@click.option(
    "--seed",
    type=click.IntRange(min=0),
    default=1,
    show_default=True,
    help="Same seed, same machine.",
)
@click.option("--packs", type=click.Path(path_type=Path, file_okay=False), help="Folder of packs.")
@own_option
def practise_command(  # one parameter for each option
    model: str | None, family: str, level: str, seed: int, packs: Path | None, own: str | None
) -> None:
    """Find a hidden fault on a simulated machine.

    Ask for checks and readings, try remedies; the machine answers as its fault makes it.
    At the end you see the cost and minutes beside those of the advised plan on the same
    machine, and what each of your steps was worth. Level 1: one common fault; 2: any one
    fault; 3: a rare one, one that comes and goes, or two.
    """
    from tubside.service.practice import begin  # noqa: PLC0415  # heavy imports stay inside

    practice = begin(_known(model, family, packs, own), cast("Level", int(level)), seed)
    condition = practice.known.pack.conditions[practice.reported]
    click.echo(f"A call: {condition.title} ({practice.how_often}). You are on the phone.\n{HELP}\n")
    while not practice.over:
        line = click.prompt("What do you do", prompt_suffix="? ").strip()
        practice = _one(practice, line)
    _print_review(practice)


def _known(model: str | None, family: str, packs: Path | None, own: str | None) -> Knowledge:
    from tubside.service import knowledge  # noqa: PLC0415
    from tubside.service.shop_folder import own_folders  # noqa: PLC0415

    shop = own_folders(place_of(own))
    if model is None:
        known = knowledge.knowledge_of_family(family, packs, shop.layers)
    else:
        name = knowledge.model_named(model, packs, shop.models)
        known = knowledge.knowledge_of_model(name, packs, shop.models, shop.layers)
    tell_unused(known)
    return known


def _one(practice: Practice, line: str) -> Practice:
    """Do what was typed, and tell what came of it."""
    from tubside.service.practice import follow, given_up, name_of, named_step  # noqa: PLC0415
    from tubside.service.practice_told import done_steps  # noqa: PLC0415

    if line in {"steps", "?"}:
        _print_steps(practice)
    elif line == "facts":
        for one in done_steps(practice):
            click.echo(f"  {one.title}: {one.came}")
    else:
        try:
            step = given_up(practice) if line == "end" else named_step(practice, line)
            _print_cautions(practice, step.kind, step.index)
            practice = follow(practice, [name_of(practice.known, step)])
        except UnknownNameError as wrong:
            click.echo(f"  {wrong}")
            return practice
        last = done_steps(practice)[-1]
        click.echo(f"  {last.title}: {last.came}  ({last.cost:.0f} dollars so far)")
    return practice


def _print_cautions(practice: Practice, kind: str, index: int) -> None:
    """What can hurt, before the step."""
    pack, names = practice.known.pack, practice.known.model.names
    cautions: list[str] = []
    if kind == "check":
        cautions = pack.checks[names.checks[index]].cautions
    elif kind == "remedy":
        cautions = pack.remedies[names.remedies[index]].cautions
    for name in cautions:
        click.echo(f"  CAUTION  {pack.cautions[name].harm} {pack.cautions[name].do}")


def _print_steps(practice: Practice) -> None:
    from tubside.service.practice import name_of, open_steps, title_of  # noqa: PLC0415

    for step in open_steps(practice):
        name = name_of(practice.known, step)
        click.echo(f"  {name:<34} {title_of(practice.known, step)} ({step.minutes:.0f} min)")


def _print_review(practice: Practice) -> None:
    from tubside.service.practice_told import review  # noqa: PLC0415

    told = review(practice)
    back = ", but the trouble will come back" if told.came_back else ""
    wrong = "; ".join(told.hidden)
    click.echo(f"\nIt was: {wrong}. In the end {told.end}{back}.")
    click.echo(f"{'':<22}{'dollars':>9}{'minutes':>9}")
    click.echo(f"{'your way':<22}{told.cost:>9.0f}{told.minutes:>9.0f}")
    click.echo(f"{'advised plan':<22}{told.advised_cost:>9.0f}{told.advised_minutes:>9.0f}")
    click.echo(f"{'had you known it':<22}{told.known_cost:>9.0f}\n")
    for number, step in enumerate(told.steps, start=1):
        if step.dearer < 1.0:
            click.echo(f"{number:>3}. {step.title}: as good as the best")
        else:
            click.echo(
                f"{number:>3}. {step.title}: {step.dearer:.0f} dollars dearer than: {step.best}"
            )
    click.echo("\nAdvised: " + "; ".join(told.advised_steps))
