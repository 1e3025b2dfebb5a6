"""The ``tubside`` command."""

from __future__ import annotations

import os

import click

from tubside import __version__
from tubside.cli.lazy import LazyGroup

# The matrices here are small: more threads only wait for one another.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

COMMANDS = {
    "next": ("tubside.cli.next:next_command", "Tell what is wrong and the next best step."),
    "solve": ("tubside.cli.solve:solve_command", "Find the best plan for a problem in a file."),
    "demo": ("tubside.cli.demo:demo_command", "Show whole jobs by example."),
    "serve": ("tubside.cli.serve:serve_command", "Serve the pages, here or to phones of the shop."),
    "day": ("tubside.cli.day:day_command", "Tell who goes where in which order on a day."),
    "kit": ("tubside.cli.kit:kit_command", "Tell what to load for the visits of a day."),
    "parts": ("tubside.cli.parts:parts_group", "List, move, order and bring in parts."),
    "user": ("tubside.cli.user:user_group", "Say who may log in, and end sessions."),
    "backup": ("tubside.cli.backups:backup_command", "Copy all data into one checked file."),
    "restore": ("tubside.cli.backups:restore_command", "Bring back the data of a backup."),
    "move": ("tubside.cli.move:move_command", "Move a shop's data to a PostgreSQL server."),
    "practise": ("tubside.cli.practise:practise_command", "Find a hidden fault, and learn."),
    "trial": ("tubside.cli.trial:trial_command", "Judge every policy on simulated calls."),
    "simulate": ("tubside.cli.simulate:simulate_command", "Play a cycle with faults inside."),
    "read": ("tubside.cli.read:read_group", "Read lamps, sounds or shaking from a recording."),
    "steady": ("tubside.cli.steady:steady_command", "Redraw a clip's lamps as the eye saw them."),
    "panel": ("tubside.cli.panel:panel_group", "Draw what a model shows, moving or still."),
    "guide": ("tubside.cli.guide:guide_group", "Make the self-help guide for customers."),
    "learn": ("tubside.cli.learn:learn_command", "Tell what closed jobs say beside the packs."),
    "pack": ("tubside.cli.pack:pack_group", "Check packs, and change what they say."),
}


@click.group(cls=LazyGroup, lazy=COMMANDS, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="tubside")
def main() -> None:
    """Find what is wrong with a laundry machine, and what to do next."""
