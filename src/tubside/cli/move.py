"""``tubside move``: a shop's data from its folder to a PostgreSQL server."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from tubside.cli.app_extra import require_app
from tubside.cli.own import home_of


@click.command("move")
@click.argument("address")
@click.option("--data", metavar="FOLDER", help="Where the data are now; the default folder if not.")
def move_command(address: str, data: str | None) -> None:
    """Copy all data of the shop to an empty PostgreSQL database at ADDRESS.

    Stop the server first. Every row is read again on both sides before anything counts; the
    folder stays as it is. docs/scale.md tells how to make the database.
    """
    require_app()
    from rich.console import Console  # noqa: PLC0415  # heavy imports stay inside the command
    from rich.progress import Progress, TaskID  # noqa: PLC0415

    from tubside.service.to_server import move_to_server  # noqa: PLC0415

    with Progress(console=Console(stderr=True), transient=True) as progress:
        bars: dict[str, TaskID] = {}

        def told(table: str, over: int, rows: int) -> None:
            if table not in bars:
                bars[table] = progress.add_task(table.replace("_", " "), total=rows)
            progress.update(bars[table], completed=over)

        moved = move_to_server(Path(home_of(data)), address, lambda: datetime.now(UTC), told)
    for name, content in moved.tables.items():
        if any(content.rows.values()):
            click.echo(f"{name:<18} {sum(content.rows.values()):>9} rows  {content.digest[:16]}")
    for folder in moved.folders:
        click.echo(f"{folder.name} of the shop copied to {folder}")
    click.echo("every table was read on both sides and found equal; now start the server with")
    click.echo("  tubside serve --data postgresql://...")
    click.echo("and keep the old folder until you trust the new place")
