"""The ``tubside`` command."""

from __future__ import annotations

import click

from tubside import __version__
from tubside.cli.lazy import LazyGroup

COMMANDS = {
    "next": ("tubside.cli.next:next_command", "Tell what is wrong and the next best step."),
    "demo": ("tubside.cli.demo:demo_command", "Show whole jobs by example."),
    "serve": ("tubside.cli.serve:serve_command", "Serve the pages, here or to phones of the shop."),
    "user": ("tubside.cli.user:user_group", "Say who may log in, and end sessions."),
    "pack": ("tubside.cli.pack:pack_group", "Check packs; print their schema for editors."),
}


@click.group(cls=LazyGroup, lazy=COMMANDS, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="tubside")
def main() -> None:
    """Find what is wrong with a laundry machine, and what to do next."""
