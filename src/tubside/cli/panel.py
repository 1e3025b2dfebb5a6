"""``tubside panel``: what a model shows, as pictures that move and as stills."""

from __future__ import annotations

import click

from tubside.cli.lazy import LazyGroup

COMMANDS = {
    "show": ("tubside.cli.panel_show:show_command", "Draw what a model shows, moving or still."),
}


@click.group("panel", cls=LazyGroup, lazy=COMMANDS)
def panel_group() -> None:
    """Draw what a model shows, for customers and for lessons."""
