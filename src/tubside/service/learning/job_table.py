"""Rows of closed jobs in a CSV file, out and in."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from io import StringIO
from pathlib import Path

from tubside.errors import HistoryError
from tubside.learning.history import COLUMNS, ClosedJob, job_of, row_of
from tubside.service.exports import no_formula


def job_table(jobs: Iterable[ClosedJob]) -> str:
    """The rows as CSV, a first line of names."""
    out = StringIO()
    table = csv.DictWriter(out, COLUMNS, lineterminator="\r\n")
    table.writeheader()
    for job in jobs:
        table.writerow({name: no_formula(cell) for name, cell in row_of(job).items()})
    return out.getvalue()


def jobs_in(file: Path) -> tuple[ClosedJob, ...]:
    """The rows of a CSV file, in its order.

    Raises
    ------
    HistoryError
        When it cannot be read, lacks a column that is needed, or a row is wrong; with its line.
    """
    try:
        text = file.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as wrong:
        msg = f"cannot read {file.name}: {wrong}"
        raise HistoryError(msg) from None
    table = csv.DictReader(StringIO(text, newline=""), strict=True)
    lacking = [name for name in ("job", "closed", "family") if name not in (table.fieldnames or [])]
    if lacking:
        msg = f"{file.name} has no column {', '.join(lacking)}; its first line names the columns"
        raise HistoryError(msg)
    try:
        return tuple(job_of(_cells(row)) for row in table)
    except (csv.Error, HistoryError) as wrong:
        msg = f"{file.name}:{table.line_num}: {wrong}"
        raise HistoryError(msg) from None


def _cells(row: Mapping[str | None, object]) -> dict[str, str]:
    """The cells that have a name, as they were before a spreadsheet was kept from them."""
    return {k: v.removeprefix("'") for k, v in row.items() if k and isinstance(v, str)}
