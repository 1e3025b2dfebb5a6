"""``tubside pack layer``, ``export`` and ``import``: the shop's changes shown, given, taken in."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tubside.cli.own import DATA, home_of

if TYPE_CHECKING:
    from tubside.pack.layer.beside import Beside
    from tubside.service.shop_layer import ShopLayers

WIDEST = 60


@click.command("layer")
@click.argument("family", required=False)
@DATA
@click.option("--packs", type=click.Path(path_type=Path, file_okay=False), help="Folder of packs.")
def layer_command(family: str | None, data: str | None, packs: Path | None) -> None:
    """Show the shop's own values beside the shipped ones, with who, when and why.

    Conflicts with a newer pack come first: what the pack said when it was changed, what
    it says now, and what you say. Without FAMILY the families with a layer are listed.
    """
    layers = layers_of(data, packs)
    if family is None:
        _list(layers)
    else:
        click.echo("\n".join(_lines(layers, family_id(family))))


@click.command("export")
@click.argument("family")
@DATA
@click.option("--packs", type=click.Path(path_type=Path, file_okay=False), help="Folder of packs.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write it to this new file instead of printing it.",
)
def export_command(family: str, data: str | None, packs: Path | None, out: Path | None) -> None:
    """Give out the shop's layer on a FAMILY's pack as one file."""
    content = layers_of(data, packs).exported(family_id(family))
    if out is None:
        click.echo(content.decode(), nl=False)
        return
    try:
        with out.open("xb") as opened:
            opened.write(content)
    except OSError as wrong:
        raise click.FileError(str(out), hint=wrong.strerror) from wrong
    click.echo(f"written to {out}")


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False, exists=True))
@DATA
@click.option("--packs", type=click.Path(path_type=Path, file_okay=False), help="Folder of packs.")
@click.option("--replace", is_flag=True, help="In place of the layer that is there.")
def import_command(file: Path, data: str | None, packs: Path | None, *, replace: bool) -> None:
    """Take in a layer from a FILE, whole or not at all.

    It is checked as any change is; with a single problem nothing is changed.
    """
    from tubside.pack.layer.reading import LARGEST  # noqa: PLC0415  # keeps start-up fast

    layers = layers_of(data, packs)
    with file.open("rb") as opened:
        family = layers.taken_in(opened.read(LARGEST + 1), again=replace)
    count = len(layers.read(family).changes)
    click.echo(f"taken in: {count} change{'s' * (count != 1)} on {family}")
    for conflict in layers.conflicts(family):
        click.echo(f"conflict: {conflict}")


def layers_of(data: str | None, packs: Path | None) -> ShopLayers:
    """The layers in the shop's data folder."""
    from tubside.service.shop_folder import layers_folder  # noqa: PLC0415  # keeps start-up fast
    from tubside.service.shop_layer import ShopLayers  # noqa: PLC0415

    return ShopLayers(layers_folder(home_of(data)), packs)


def family_id(typed: str) -> str:
    """A family's id as it was typed, with hyphen or underscore."""
    return typed.replace("-", "_")


def _list(layers: ShopLayers) -> None:
    problems = layers.problems()
    for family in layers.families():
        click.echo(family)
        if family in problems:
            click.echo(f"  not used, the shipped pack is:\n{problems[family]}")
    if not layers.families():
        click.echo(f"no layer in {layers.folder}: every pack is used as it was shipped")


def _lines(layers: ShopLayers, family: str) -> Iterator[str]:
    from tubside.pack.layer.applying import way_given  # noqa: PLC0415  # keeps start-up fast

    layer, shipped = layers.read(family), layers.shipped(family)
    if not layer.changes:
        yield f"{family}: nothing is changed; the pack is used as it was shipped"
        return
    if (problem := layers.problems().get(family)) is not None:
        yield f"{family}: the layer cannot be used, so the shipped pack is:\n{problem}\n"
    for conflict in layers.conflicts(family):
        yield f"CONFLICT  change {conflict.change.id}: {conflict}"
        yield f"          keep yours: tubside pack keep {family} {conflict.change.id}"
        yield f"          take it back: tubside pack undo {family} {conflict.change.id}\n"
    for beside in layers.beside(family):
        yield from _beside(beside)
    factor = way_given(shipped.document.tree, layer)
    if factor is not None:
        yield f"the other weights are multiplied by {factor:.4g}, so that all are per 1000 calls"
    gone = [change for change in layer.changes if change.taken_back is not None]
    for change in gone:
        assert change.taken_back is not None
        what = ", ".join(edit.what for edit in change.edits)
        by = f"{change.taken_back.who}, {change.taken_back.when:%Y-%m-%d}"
        yield f"taken back by {by}: change {change.id} ({what})"


def _beside(beside: Beside) -> Iterator[str]:
    from tubside.pack.layer.targets import told  # noqa: PLC0415  # keeps start-up fast

    ships, own = beside.texts
    yield told(beside.target)
    if len(ships) + len(own) <= WIDEST:
        yield f"  shipped {ships}   own {own}"
    else:
        yield f"  shipped {ships}"
        yield f"  own     {own}"
    for change in beside.changes:
        yield f"  change {change.id}, {change.who}, {change.when:%Y-%m-%d}: {change.why}"
    if beside.agrees:
        yield "  the shipped pack says the same by now: it can be taken back"
    yield ""
