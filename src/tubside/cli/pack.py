"""``tubside pack``: commands for those who write packs."""

from __future__ import annotations

import click

from tubside.cli.lazy import LazyGroup

COMMANDS = {
    "check": ("tubside.cli.pack_check:check_command", "Tell what cannot be true in a pack."),
    "schema": ("tubside.cli.pack_schema:schema_command", "Print the JSON Schema of packs."),
}


@click.group("pack", cls=LazyGroup, lazy=COMMANDS)
def pack_group() -> None:
    """Check packs; print their schema for editors."""
