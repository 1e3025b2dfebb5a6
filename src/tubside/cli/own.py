"""The options by which a command uses a shop's own models and changes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

if TYPE_CHECKING:
    from tubside.service.knowledge import Knowledge

F = TypeVar("F", bound=Callable[..., object])

DATA = click.option(
    "--data", metavar="FOLDER", help="Where the shop's data is: a folder, or postgresql://..."
)
"""For commands that are about the shop's own things: without it, the default folder."""


def own_option(command: F) -> F:
    """Give a command ``--shop`` and ``--data``: both set its parameter ``own``, a place or None."""
    shop = click.option(
        "--shop",
        "own",
        flag_value="",
        default=None,
        help="Use the shop's own models and changes, from the folder of tubside serve.",
    )
    data = click.option(
        "--data",
        "own",
        metavar="FOLDER",
        default=None,
        help="Use those of another data folder of a shop.",
    )
    return shop(data(command))


def place_of(own: str | None) -> str | Path | None:
    """The data folder that was chosen; None where the shipped knowledge alone is used."""
    from tubside.service.shop_folder import default_folder  # noqa: PLC0415  # keeps start-up fast

    return default_folder() if own == "" else own


def home_of(data: str | None) -> str | Path:
    """The data folder that was named, or the default one."""
    from tubside.service.shop_folder import default_folder  # noqa: PLC0415  # keeps start-up fast

    return data or default_folder()


def tell_unused(known: Knowledge) -> None:
    """Say on the error output when the shop's changes could not be used."""
    if known.unused_layer is not None:
        click.echo(
            f"the shop's own changes on {known.pack.family} cannot be used, so the shipped "
            f"pack is:\n{known.unused_layer}\n",
            err=True,
        )
