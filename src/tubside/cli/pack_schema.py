"""``tubside pack schema``: the JSON Schema with which editors complete and check packs."""

from __future__ import annotations

from pathlib import Path

import click
import msgspec

from tubside.pack.schema import Pack


@click.command("schema")
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False, writable=True),
    help="Write it to this file instead of printing it.",
)
def schema_command(out: Path | None) -> None:
    """Print the JSON Schema of packs, for editors.

    A pack is spread over several files, so an editor may say of each file that
    sections are missing; `tubside pack check` reads them together.
    """
    text = msgspec.json.format(msgspec.json.encode(msgspec.json.schema(Pack)), indent=2).decode()
    if out is None:
        click.echo(text)
    else:
        out.write_text(text + "\n", encoding="utf-8")
