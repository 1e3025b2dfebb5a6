"""Write ``docs/commands.md`` from the command line itself."""

from __future__ import annotations

import importlib
import inspect
from collections.abc import Iterator
from pathlib import Path

import click

PAGE = Path(__file__).parents[1] / "docs" / "commands.md"
OPENING = """\
# Commands

What can be typed. Each command tells the same with `--help`.
(This page is written by `make commands` from the program.)
"""


def walk(command: click.Command, name: str) -> Iterator[tuple[str, click.Command]]:
    """Yield every command with its whole name, groups before their members."""
    yield name, command
    if isinstance(command, click.Group):
        context = click.Context(command, info_name=name)
        for part in sorted(command.list_commands(context)):
            below = command.get_command(context, part)  # also what is loaded only when called
            if below is not None and not below.hidden:
                yield from walk(below, f"{name} {part}")


def usage(command: click.Command, name: str) -> str:
    """Return the line that shows how to type the command."""
    context = click.Context(command, info_name=name)
    return " ".join([name, *command.collect_usage_pieces(context)])


def described(option: click.Option) -> str:
    """Return one entry for an option: how to write it and what it does."""
    flags = ", ".join(f"`{flag}`" for flag in [*option.opts, *option.secondary_opts])
    takes = "" if option.is_flag or option.count else f" {option.make_metavar(context_of(option))}"
    return f"{flags}{takes}\n: {option.help or 'No description.'}\n"


def context_of(option: click.Option) -> click.Context:
    """Return an empty context, which click wants for naming what an option takes."""
    return click.Context(click.Command(option.name))


def section(command: click.Command, name: str) -> str:
    """Return the part of the page about one command."""
    told = inspect.cleandoc(command.help or "No description.").replace("\b\n", "")
    options = [
        described(option)
        for option in command.params
        if isinstance(option, click.Option) and not option.hidden
    ]
    parts = [f"## {name}", f"```\n{usage(command, name)}\n```", told, *options]
    return "\n\n".join(part.rstrip() for part in parts) + "\n"


def page(main: click.Command, name: str = "tubside") -> str:
    """Return the whole page for a command line."""
    return "\n".join([OPENING, *(section(command, title) for title, command in walk(main, name))])


if __name__ == "__main__":
    PAGE.write_text(page(importlib.import_module("tubside.cli").main), encoding="utf-8")
