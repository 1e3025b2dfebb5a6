"""``tubside pack``: commands for those who write packs."""

from __future__ import annotations

import click

from tubside.cli.lazy import LazyGroup

COMMANDS = {
    "check": ("tubside.cli.pack_check:check_command", "Tell what cannot be true in a pack."),
    "layer": ("tubside.cli.pack_layer:layer_command", "Show the shop's values beside the pack's."),
    "change": ("tubside.cli.pack_change:change_command", "Change what a pack says, for this shop."),
    "undo": ("tubside.cli.pack_change:undo_command", "Take a change back."),
    "keep": ("tubside.cli.pack_change:keep_command", "Keep a change against a newer pack."),
    "export": ("tubside.cli.pack_layer:export_command", "Give out the shop's layer as one file."),
    "import": ("tubside.cli.pack_layer:import_command", "Take in a layer, whole or not at all."),
    "new": ("tubside.cli.pack_new:new_command", "Begin the pack of a new family."),
    "schema": ("tubside.cli.pack_schema:schema_command", "Print the JSON Schema of packs."),
}


@click.group("pack", cls=LazyGroup, lazy=COMMANDS)
def pack_group() -> None:
    """Check packs, and change what they say."""
