"""A trial as a table in the terminal."""

from __future__ import annotations

from math import isfinite

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
    served = ", ".join(f"{row.policy} {_share(row.first_visit_served)} %" for row in result.rows)
    console.print(
        "First visits that end the job, of those whose cause needs no part, or one carried or "
        f"ordered: {served}.\n"
        f"Stated sets of 90 % held in {_share(stated.held)} % of {stated.held.n} visits, mean size "
        f"{_shown(stated.set_size.value, 1)}; true against stated: slope {_number(stated.slope)}.\n"
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
    return _with_half(mean.value, mean.half, 0)


def _share(mean: Mean) -> str:
    return _with_half(100 * mean.value, 100 * mean.half, 0)


def _number(mean: Mean) -> str:
    return _with_half(mean.value, mean.half, 2)


def _with_half(value: float, half: float, digits: int) -> str:
    return f"{_shown(value, digits)} ± {_shown(half, digits)}"


def _shown(value: float, digits: int) -> str:
    """A number with so many decimals; "?" where too few calls tell it."""
    return f"{value:.{digits}f}" if isfinite(value) else "?"
