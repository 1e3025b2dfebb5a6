"""A trial as a table in the terminal."""

from __future__ import annotations

from rich import box
from rich.console import Console
from rich.table import Table

from tubside.trial.measuring import Mean
from tubside.trial.running import Result


def print_trial(family: str, result: Result) -> None:
    """Print one trial: a row for each policy, then how well chances were stated."""
    console = Console(highlight=False)
    calls = result.rows[0].cost.n
    table = Table(
        title=f"{family}, {result.world}: {calls} calls, seed {result.seed}",
        title_justify="left",
        box=box.SIMPLE_HEAD,
        padding=(0, 1, 0, 0),
    )
    for number, name in enumerate(_HEADS):
        table.add_column(name, justify="left" if number == 0 else "right")
    for row in result.rows:
        table.add_row(
            row.policy,
            _money(row.cost),
            _money(row.excess),
            _share(row.saved),
            _money(row.minutes),
            f"{row.trips.value:.2f}",
            _share(row.by_phone),
            _share(row.first_visit),
            f"{row.wrong_parts.value:.2f}",
        )
    console.print(table)
    stated = result.calibration
    console.print(
        f"Stated sets of 90 % held in {_share(stated.held)} % of {stated.held.n} visits, mean size "
        f"{stated.set_size.value:.1f}; true against stated: slope {_number(stated.slope)}.\n"
        f"All intervals are 95 %; parts: part kinds fitted in vain. Calls with three causes and "
        f"more are left out ({100 * result.left_out:.1f} %).\n"
    )


_HEADS = (
    "policy",
    "cost $",
    "excess $",
    "saved %",
    "min",
    "trips",
    "phone %",
    "1st visit %",
    "parts",
)


def _money(mean: Mean) -> str:
    return f"{mean.value:.0f} ± {mean.half:.0f}"


def _share(mean: Mean) -> str:
    return f"{100 * mean.value:.0f} ± {100 * mean.half:.0f}"


def _number(mean: Mean) -> str:
    return f"{mean.value:.2f} ± {mean.half:.2f}"
