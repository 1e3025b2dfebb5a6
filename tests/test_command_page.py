"""Tests of the page that is written from the command line."""

from __future__ import annotations

import click

import command_page
from tubside.cli import COMMANDS, main


@click.group()
def shed() -> None:
    """Keep tools."""


@shed.command()
@click.argument("tool")
@click.option("--days", type=int, help="How long it is lent.")
@click.option("--quiet", is_flag=True, help="Say nothing.")
@click.option("--secret", hidden=True)
def lend(tool: str, days: int, *, quiet: bool, secret: str) -> None:
    """Lend a tool to a neighbour."""
    click.echo([tool, days, quiet, secret])


def test_each_command_has_its_section() -> None:
    """Tests that group and command are told with usage, help and visible options."""
    text = command_page.page(shed, "shed")
    assert "## shed\n\n```\nshed [OPTIONS] COMMAND [ARGS]...\n```\n\nKeep tools.\n" in text
    assert "## shed lend\n\n```\nshed lend [OPTIONS] TOOL\n```\n\nLend a tool" in text
    assert "`--days` INTEGER\n: How long it is lent.\n" in text
    assert "`--quiet`\n: Say nothing.\n" in text
    assert "secret" not in text


def test_commands_that_are_loaded_late_are_told() -> None:
    """Tests that the page also holds the commands that the program imports when called."""
    text = command_page.page(main)
    assert [name for name in COMMANDS if f"\n## tubside {name}\n" not in text] == []
