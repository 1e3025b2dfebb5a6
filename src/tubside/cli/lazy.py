"""A command group that loads a command only when it is called."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from typing import Any, cast

import click

from tubside.errors import TubsideError

EXIT_MISTAKE = 2


class LazyGroup(click.Group):
    """Commands by name, each given as (``module:attribute``, short help).

    Listing them loads none, so that ``--help`` is quick. A :class:`TubsideError`
    tells the user something: it is printed without a traceback, with exit code 2.
    """

    def __init__(self, *args: Any, lazy: Mapping[str, tuple[str, str]], **kwargs: Any) -> None:  # noqa: ANN401  # click's own
        super().__init__(*args, **kwargs)
        self.lazy = dict(lazy)

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names of all commands, in the order given."""
        return [*self.lazy, *super().list_commands(ctx)]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import and return one command; None if there is none of that name."""
        if cmd_name not in self.lazy:
            return super().get_command(ctx, cmd_name)
        module, attribute = self.lazy[cmd_name][0].split(":")
        return cast("click.Command", getattr(import_module(module), attribute))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Return the command that the arguments name; a misspelt one gets a suggestion."""
        names = self.list_commands(ctx)
        if args[0] not in names and not args[0].startswith("-"):
            from tubside.strict_yaml.spelling import or_one_of  # noqa: PLC0415  # keeps start-up fast

            ctx.fail(f"there is no command '{args[0]}'; {or_one_of(args[0], names)}")
        return super().resolve_command(ctx, args)

    def format_commands(self, _ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands from the short helps, loading none."""
        if self.lazy:
            with formatter.section("Commands"):
                formatter.write_dl([(name, short) for name, (_, short) in self.lazy.items()])

    def invoke(self, ctx: click.Context) -> object:
        """Run the command that was named; tell a user's mistake in words."""
        try:
            return super().invoke(ctx)
        except TubsideError as wrong:
            click.echo(str(wrong), err=True)
            ctx.exit(EXIT_MISTAKE)
