"""``tubside guide``: the shop's self-help guide for its customers, as files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tubside.cli.app_extra import require_app
from tubside.cli.own import own_option, place_of
from tubside.errors import GuideError

if TYPE_CHECKING:
    from tubside.guide.building import Front
    from tubside.service.library import Library


@click.group("guide")
def guide_group() -> None:
    """Make the self-help guide for customers."""


@guide_group.command("build")
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    required=True,
    help="Folder to write; a new or an empty one.",
)
@click.option("--language", default="en", show_default=True, help="Language of the pages.")
@click.option(
    "--words",
    type=click.Path(path_type=Path, dir_okay=False, exists=True),
    help="Your own catalogue for that language (gettext, .po).",
)
@click.option("--name", help="Name of the shop on every page.")
@click.option("--telephone", help="Number that customers ring.")
@own_option
def build_command(
    *,
    out: Path,
    language: str,
    words: Path | None,
    name: str | None,
    telephone: str | None,
    own: str | None,
) -> None:
    """Write the guide: pages that open from a folder, a USB stick or any web space.

    With --shop or --data it is about the shop's own models and has its name, telephone
    and country. Only steps that are safe for customers are in it.
    """
    require_app()
    from tubside.guide.building import build  # noqa: PLC0415  # heavy
    from tubside.guide.languages import language_of  # noqa: PLC0415

    library, front = _shop(own)
    front = _named(front, name, telephone)
    chosen = language_of(language, words)
    click.echo("working out the order of the checks; this takes a minute or two", err=True)
    names = build(out, library, front, chosen)
    pages = sum(one.endswith(".html") for one in names)
    click.echo(f"{out}: {pages} pages; begin with {out / 'index.html'}")


@guide_group.command("words")
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    required=True,
    help="Template to write (gettext, .pot).",
)
@own_option
def words_command(*, out: Path, own: str | None) -> None:
    """Write all words of the guide as a template for translators."""
    require_app()
    from tubside.guide.extracting import template_of  # noqa: PLC0415  # heavy

    library, _ = _shop(own)
    try:
        out.write_bytes(template_of(library))
    except OSError as wrong:
        msg = f"the template cannot be written to {out}: {wrong.strerror}"
        raise GuideError(msg) from wrong
    click.echo(f"{out}: translate it, then build with --language and --words")


def _shop(own: str | None) -> tuple[Library, Front]:
    """The knowledge to use, and the shop as its customers know it."""
    from tubside.cli.shop_data import shop_data  # noqa: PLC0415  # keeps start-up fast
    from tubside.guide.building import Front, front_of  # noqa: PLC0415  # heavy
    from tubside.service.library import Library  # noqa: PLC0415

    place = place_of(own)
    if place is None:
        return Library(), Front()
    with shop_data(str(place)) as (store, library):
        return library, front_of(store)


def _named(front: Front, name: str | None, telephone: str | None) -> Front:
    from dataclasses import replace  # noqa: PLC0415  # stands with its only use

    return replace(front, name=name or front.name, telephone=telephone or front.telephone)
