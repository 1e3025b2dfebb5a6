"""``tubside pack new``: the files that a new family begins with."""

from __future__ import annotations

from pathlib import Path

import click

from tubside.pack.new_family import begin_family


@click.command("new")
@click.argument("family")
@click.option(
    "--into",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("packs"),
    show_default=True,
    help="Folder of packs to put it in; made where it is not there.",
)
def new_command(family: str, into: Path) -> None:
    """Begin the pack of a new family, with the id FAMILY.

    The files check clean as they are, and a comment explains each field. What stands in
    them is invented: replace it piece by piece, and check after every sitting. What is
    there already is never overwritten.
    """
    folder = begin_family(family, into)
    click.echo(f"{folder} holds a pack to begin with. Next:")
    click.echo(f"  tubside pack check {folder}")
    click.echo(f"  tubside serve --packs {into}")
