"""``tubside pack change``, ``undo`` and ``keep``: the shop's own changes on a pack."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, TypedDict, Unpack

import click

from tubside.cli.own import DATA, home_of
from tubside.cli.pack_layer import family_id, layers_of

if TYPE_CHECKING:
    from tubside.pack.layer.editing import Signed
    from tubside.pack.layer.targets import Target
    from tubside.service.shop_layer import ShopLayers
    from tubside.strict_yaml import Tree

PACKS = click.option(
    "--packs", type=click.Path(path_type=Path, file_okay=False), help="Folder of packs."
)
WHY = click.option("--why", required=True, help="Why; it is kept beside the change.")
WHO = click.option("--who", help="Who changes it; your login name if left out.")


class Wanted(TypedDict):
    """What ``tubside pack change`` was given."""

    values: tuple[str, ...]
    file: Path | None
    removed: tuple[str, ...]
    why: str
    who: str | None
    try_only: bool


class By(TypedDict):
    """Who takes a change back or keeps it, and why."""

    who: str | None
    why: str


@click.command("change")
@click.argument("family")
@click.argument("values", metavar="[PLACE VALUE]...", nargs=-1)
@WHY
@WHO
@click.option(
    "--from",
    "file",
    type=click.Path(path_type=Path, dir_okay=False, exists=True),
    help="Take the changes from a file written like a pack.",
)
@click.option(
    "--remove", "removed", multiple=True, metavar="PLACE", help="Take out what stands there."
)
@click.option("--try", "try_only", is_flag=True, help="Only tell what would come of it.")
@DATA
@PACKS
def change_command(
    family: str, data: str | None, packs: Path | None, **wanted: Unpack[Wanted]
) -> None:
    """Change what a FAMILY's pack says, for this shop: one change of one or more places.

    A place is named by ids, such as "causes / suspension-worn / weight". A VALUE in
    brackets is a list or a record. The shipped pack is not touched. The change is checked
    by all that tubside pack check looks at, and refused whole when the pack would be wrong
    with it.
    """
    layers, name = layers_of(data, packs), family_id(family)
    edits, by = _edits(layers, name, wanted), _signed(wanted["who"], wanted["why"])
    tried = layers.tried(name, edits, by)
    for warning in tried.warnings:
        click.echo(f"warning: {warning}")
    if wanted["try_only"]:
        click.echo("it can be so; nothing was changed")
        return
    made = layers.change(name, edits, by).changes[-1]
    click.echo(f"change {made.id} on {name} is kept: {', '.join(e.what for e in made.edits)}")


@click.command("undo")
@click.argument("family")
@click.argument("change")
@WHY
@WHO
@DATA
@PACKS
def undo_command(
    family: str, change: str, data: str | None, packs: Path | None, **by: Unpack[By]
) -> None:
    """Take a CHANGE on a FAMILY's pack back, by its number.

    The latest one goes without a trace while nothing was advised on it; else it is
    recorded as taken back, so that what was advised can be told later.
    """
    layers, name = layers_of(data, packs), family_id(family)
    layers.read(name)  # an unknown family is told before any database is opened
    left = layers.undo(name, change, _signed(**by), advised=_advised(data, packs, name))
    recorded = any(each.id == change for each in left.changes)
    click.echo(f"change {change} on {name} is {'recorded as taken back' if recorded else 'gone'}")


@click.command("keep")
@click.argument("family")
@click.argument("change")
@WHY
@WHO
@DATA
@PACKS
def keep_command(
    family: str, change: str, data: str | None, packs: Path | None, **by: Unpack[By]
) -> None:
    """Keep a CHANGE on a FAMILY's pack against what the pack ships now: its conflict is settled."""
    name = family_id(family)
    layers_of(data, packs).settle(name, change, _signed(**by))
    click.echo(f"change {change} on {name} stays; its conflict is settled")


def _edits(layers: ShopLayers, family: str, wanted: Wanted) -> list[tuple[Target, Tree | None]]:
    from tubside.errors import LayerFileError  # noqa: PLC0415  # keeps start-up fast
    from tubside.pack.layer.applying import before_weights  # noqa: PLC0415
    from tubside.pack.layer.reading import standing  # noqa: PLC0415
    from tubside.pack.layer.targets import target_of  # noqa: PLC0415
    from tubside.pack.layer.wishes import typed_value, wishes_of  # noqa: PLC0415
    from tubside.strict_yaml import read_file  # noqa: PLC0415

    values = wanted["values"]
    if len(values) % 2:
        msg = "each place needs a value; put both in quotes where they hold spaces"
        raise click.UsageError(msg)
    edits: list[tuple[Target, Tree | None]] = [
        (target_of(place), typed_value(value))
        for place, value in zip(values[::2], values[1::2], strict=True)
    ]
    edits += [(target_of(place), None) for place in wanted["removed"]]
    if wanted["file"] is not None:
        document = read_file(wanted["file"], error=LayerFileError)
        shipped = layers.shipped(family).document.tree
        edits += wishes_of(document, before_weights(shipped, standing(layers.read(family))))
    if not edits:
        msg = "name a place and its value, or --from, or --remove"
        raise click.UsageError(msg)
    return edits


def _signed(who: str | None, why: str) -> Signed:
    from datetime import UTC, datetime  # noqa: PLC0415  # keeps start-up fast
    from getpass import getuser  # noqa: PLC0415

    from tubside.pack.layer.editing import Signed  # noqa: PLC0415

    if who is None:
        try:
            who = getuser()
        except (OSError, KeyError, ImportError) as wrong:
            msg = "say who you are with --who"
            raise click.UsageError(msg) from wrong
    return Signed(who.strip(), datetime.now(UTC), why.strip())


def _advised(data: str | None, packs: Path | None, family: str) -> bool:
    """Whether a job of the shop holds advice computed with the layer as it is."""
    from tubside.cli.app_extra import require_app  # noqa: PLC0415  # keeps start-up fast
    from tubside.service.shop_folder import is_address, own_folders  # noqa: PLC0415
    from tubside.store.folders import DATABASE  # noqa: PLC0415

    place = home_of(data)
    if not is_address(place) and not (Path(place) / DATABASE).is_file():
        return False
    require_app()
    from datetime import UTC, datetime  # noqa: PLC0415

    from tubside.service.data_folder import open_data  # noqa: PLC0415
    from tubside.service.layer_use import advised_on  # noqa: PLC0415
    from tubside.service.library import Library  # noqa: PLC0415

    own = own_folders(place)
    store = open_data(place, lambda: datetime.now(UTC))
    try:
        return advised_on(store, Library(packs, own.models, own.layers), family)
    finally:
        store.close()
