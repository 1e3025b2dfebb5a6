"""``tubside backup`` and ``tubside restore``: a shop's data into one file, and back."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from tubside.cli.app_extra import require_app

DATA = click.option(
    "--data",
    metavar="FOLDER",
    help="Where the shop's data is: a folder, or postgresql://...",
)


@click.command("backup")
@click.argument("file", required=False, type=click.Path(path_type=Path, dir_okay=False))
@DATA
def backup_command(file: Path | None, data: str | None) -> None:
    """Copy all data, models and layers into one FILE, also while the server runs, and check it.

    Without FILE the copy goes into the folder backups of the data folder, named by
    the time.
    """
    require_app()
    from tubside.service.backups import back_up  # noqa: PLC0415  # heavy imports stay inside

    made = back_up(_place(data), _now, file)
    counted = f"{_told(made.content.rows)}{_files(made.models.files, made.layers.files)}"
    click.echo(f"{made.file}: {counted}; read again and found equal")
    for kind, left_out in (("model", made.models.left_out), ("layer", made.layers.left_out)):
        for name in left_out:
            click.echo(f"not taken along, as it is no file of a {kind}: {name!a}")


@click.command("restore")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@DATA
def restore_command(file: Path, data: str | None) -> None:
    """Bring back the data, models and layers of a backup FILE; stop the server first.

    What was there before is kept beside it under another name.
    """
    require_app()
    from tubside.service.backups import check_backup, restore  # noqa: PLC0415

    rows = check_backup(file).rows
    done = restore(file, _place(data), _now)
    click.echo(f"restored {_told(rows)}{_files(done.models, done.layers)} from {file}")
    for kind, found in (("models", done.models), ("layers", done.layers)):
        if found is None:
            click.echo(f"the backup was made without {kind}; those that are there were left alone")
    if done.old_data is not None:
        click.echo(f"the data there were before are in {done.old_data}")
    if done.old_models is not None:
        click.echo(f"the models there were before are in {done.old_models}")
    if done.old_layers is not None:
        click.echo(f"the layers there were before are in {done.old_layers}")


def _place(data: str | None) -> str | Path:
    from tubside.service.data_folder import (  # noqa: PLC0415
        default_folder,
        is_address,
    )

    if data is None:
        return default_folder()
    return data if is_address(data) else Path(data)


def _now() -> datetime:
    return datetime.now(UTC)


def _told(rows: dict[str, int]) -> str:
    return ", ".join(f"{rows.get(table, 0)} {table}" for table in ("jobs", "facts", "photos"))


def _files(models: dict[str, bytes] | None, layers: dict[str, bytes] | None) -> str:
    """What was counted besides the rows, each with a comma before it."""
    from tubside.store.model_files import model_count  # noqa: PLC0415

    told = "" if models is None else f", {model_count(models)} models"
    return f"{told}, {len(layers)} layers" if layers else told
