"""``tubside parts``: the shop's parts on the command line."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

import click

from tubside.cli.app_extra import require_app
from tubside.cli.shop_data import shop_data

if TYPE_CHECKING:
    from tubside.service.parts.shelf import Shelved

data_option = click.option(
    "--data", metavar="FOLDER", help="Where the shop's data is: a folder, or postgresql://..."
)


@click.group("parts")
def parts_group() -> None:
    """List the shop's parts, move them, say what to order, bring in a list."""
    require_app()


@parts_group.command("list")
@click.argument("words", nargs=-1)
@data_option
def list_command(words: tuple[str, ...], data: str | None) -> None:
    """List parts that hold all WORDS, by number, with where they lie and the best price."""
    from tubside.service.parts.shelf import searched, shelf  # noqa: PLC0415  # start-up

    with shop_data(data) as (store, _):
        found = searched(shelf(store), " ".join(words))
    for one in found:
        click.echo(_line(one))
    if not found:
        click.echo("There is no such part.")


def _line(one: Shelved) -> str:
    from tubside.service.parts.moving import place_words  # noqa: PLC0415

    places = ", ".join(f"{place_words(place)} {units}" for place, units in one.held.items())
    offer = one.offers[0] if one.offers else None
    price = "" if offer is None else f"  {offer.price / 100:.2f} {offer.supplier}"
    return f"{one.article.number}  {one.article.title}: {places or 'none anywhere'}{price}"


@parts_group.command("bring-in")
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option("--dry-run", is_flag=True, help="Only tell what the list would bring.")
@data_option
def bring_in_command(file: Path, *, dry_run: bool, data: str | None) -> None:
    """Bring in a list of parts from a CSV FILE; every mistake is told by its line."""
    from tubside.service.parts.listing_file import bring_in, read_list  # noqa: PLC0415
    from tubside.service.parts.moving import Hand  # noqa: PLC0415

    lines = read_list(file.read_bytes(), str(file))
    with shop_data(data) as (store, _):
        by = Hand(uuid4().hex, "command", datetime.now(UTC))
        told = bring_in(store, lines, by, dry_run=dry_run)
    click.echo(
        f"{told.new} new parts, {told.changed} known ones, {told.offers} new prices, "
        f"{told.units} units counted in" + ("; nothing was kept" if dry_run else "")
    )


@parts_group.command("move")
@click.argument("number")
@click.argument("units", type=click.IntRange(1))
@click.option("--from", "source", metavar="PLACE", help="workshop, on-order or van:NAME.")
@click.option("--to", "target", metavar="PLACE", help="workshop, on-order or van:NAME.")
@click.option("--reason", required=True, help="received, loaded, used, lost and so on.")
@click.option("--despite", help="Why, where the books hold fewer: not-booked-in, miscounted ...")
@data_option
def move_command(  # noqa: PLR0913, PLR0917  # one for each option
    number: str,
    units: int,
    source: str | None,
    target: str | None,
    reason: str,
    despite: str | None,
    data: str | None,
) -> None:
    """Move UNITS of the part NUMBER from a place to another; outside the shop if none is named."""
    from tubside.service.parts.moving import Hand, Move, move  # noqa: PLC0415

    told = Move(number, units, source, target, reason, despite)  # type: ignore[arg-type]  # checked
    with shop_data(data) as (store, _):
        row = move(store, told, Hand(uuid4().hex, "command", datetime.now(UTC)))
    click.echo(f"movement {row.number}: {units} of {number}, {reason}")


@parts_group.command("order")
@click.option(
    "--target",
    type=click.FloatRange(0.0, 1.0, max_open=True),
    default=0.9,
    show_default=True,
    help="Share of the jobs that need a part which shall lack none.",
)
@click.option("--csv", "as_csv", is_flag=True, help="Print a table for a spreadsheet.")
@data_option
def order_command(target: float, *, as_csv: bool, data: str | None) -> None:
    """Say what to order: what the vans should hold, against what is held and on its way."""
    from tubside.service.parts.ordering import order_csv, order_list  # noqa: PLC0415

    with shop_data(data) as (store, library):
        found = order_list(store, library, datetime.now(UTC), target)
    if as_csv:
        click.echo(order_csv(found), nl=False)
        return
    for line in found.to_order:
        price = "no price" if line.cents is None else f"{line.cents / 100:.2f}"
        held = f"{line.part.in_hand} held, {line.part.on_order} on order, {line.least} wanted"
        article = line.part.article
        click.echo(f"{line.order:>4} x {article.number}  {article.title}: {price} ({held})")
    click.echo(
        f"{found.cents / 100:.2f} in all; {found.fill_rate:.1%} of the jobs that need a part "
        "of these then lack none"
    )
