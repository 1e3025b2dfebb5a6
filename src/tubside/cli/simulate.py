"""``tubside simulate``: one cycle of a model with faults inside, told and drawn."""

from __future__ import annotations

from pathlib import Path
from typing import TypedDict, Unpack

import click

from tubside.cli.own import own_option, place_of, tell_unused


class Given(TypedDict):
    """The options as they were given."""

    model: str
    causes: tuple[str, ...]
    seed: int | None
    plot: Path | None
    as_json: bool
    packs: Path | None
    own: str | None


@click.command("simulate")
@click.option("--model", required=True, metavar="MODEL", help="Model: its id, or a word of it.")
@click.option("--cause", "causes", multiple=True, metavar="ID", help="Cause inside; may repeat.")
@click.option(
    "--seed", type=click.IntRange(min=0), help="Draw one of its kind; without it, the middle one."
)
@click.option("--plot", type=click.Path(path_type=Path, dir_okay=False), help="Draw to an SVG.")
@click.option("--json", "as_json", is_flag=True, help="Print plain data instead of lines.")
@click.option("--packs", type=click.Path(path_type=Path, file_okay=False), help="Folder of packs.")
@own_option
def simulate_command(**given: Unpack[Given]) -> None:
    """Play one cycle of a model, with nothing wrong or with causes inside.

    Tells each part of the cycle, what stopped it and what the panel shows; --plot draws
    level, temperature, speed, swing and torque over the cycle. docs/machine.md tells how
    it is computed.
    """
    import msgspec  # noqa: PLC0415  # heavy imports stay inside the command

    from tubside.service.knowledge import knowledge_of_model, model_named  # noqa: PLC0415
    from tubside.service.shop_folder import own_folders  # noqa: PLC0415
    from tubside.service.simulate import as_data, drawing, simulate, told  # noqa: PLC0415

    packs, own = given["packs"], own_folders(place_of(given["own"]))
    name = model_named(given["model"], packs, own.models)
    known = knowledge_of_model(name, packs, own.models, own.layers)
    tell_unused(known)
    played = simulate(known, given["causes"], given["seed"])
    if given["plot"] is not None:
        _write(given["plot"], drawing(played))
    if given["as_json"]:
        click.echo(msgspec.json.format(msgspec.json.encode(as_data(played)), indent=2).decode())
        return
    click.echo("\n".join(told(played)))


def _write(place: Path, drawn: str) -> None:
    try:
        place.write_text(drawn, encoding="utf-8")
    except OSError as wrong:
        raise click.FileError(str(place), hint=wrong.strerror) from wrong
