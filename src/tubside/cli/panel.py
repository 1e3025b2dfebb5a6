"""``tubside panel``: what a model shows, as pictures that move and as stills."""

from __future__ import annotations

import click

from tubside.cli.lazy import LazyGroup

COMMANDS = {
    "show": ("tubside.cli.panel_show:show_command", "Draw what a model shows, moving or still."),
    "chapters": ("tubside.cli.panel_chapters:chapters_command", "What to film for customers."),
}


@click.group("panel", cls=LazyGroup, lazy=COMMANDS)
def panel_group() -> None:
    """Draw what a model shows, for customers and for lessons."""
