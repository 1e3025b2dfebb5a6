"""The customer's own check in a trial, as a table or as data."""

from __future__ import annotations

from collections.abc import Sequence

import click
import msgspec
from rich import box
from rich.console import Console
from rich.table import Table

from tubside.service.trials import Plan
from tubside.trial.measuring import Mean
from tubside.trial.own_check import Alone

HEADS = ("family", "world", "way", "cleared %", "came back %", "steps", "minutes")


def print_own_checks(found: Sequence[tuple[Plan, tuple[Alone, ...]]], *, as_json: bool) -> None:
    """Print a row for each family, world and way."""
    if as_json:
        data = [
            {"family": plan.family, "world": plan.world, "calls": plan.calls, "rows": list(rows)}
            for plan, rows in found
        ]
        click.echo(msgspec.json.format(msgspec.json.encode(data), indent=2).decode())
        return
    table = Table(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0))
    for number, head in enumerate(HEADS):
        table.add_column(head, justify="left" if number < 3 else "right")
    for plan, rows in found:
        for row in rows:
            told = (_share(row.cleared), _share(row.back), _one(row.steps), _one(row.minutes))
            table.add_row(plan.family, plan.world, row.way, *told)
    console = Console(highlight=False)
    console.print(table)
    calls = found[0][0].calls if found else 0
    console.print(f"{calls} calls a row, intervals of 95 %. Cleared: no visit, and it stayed so.\n")


def _share(one: Mean) -> str:
    return f"{100 * one.value:.0f} ± {100 * one.half:.0f}"


def _one(one: Mean) -> str:
    return f"{one.value:.1f}"
