"""A pack's tables with all that was learned in them: what accepting every proposal gives."""

from __future__ import annotations

from dataclasses import replace

from tubside.learning.calls import learned_calls
from tubside.learning.counts import Counts
from tubside.learning.outcome_rows import HEALTHY, LearnedRow, learned_rows
from tubside.learning.proposal import Whose
from tubside.learning.tables import Looked, Tables
from tubside.learning.tallies import tallied
from tubside.learning.worth import USUAL, Worth


def learned_tables(
    said: Tables, counts: Counts, whose: Whose | None = None, worth: Worth = USUAL
) -> Tables:
    """The tables after the counts: posterior means of weights, reports and findings.

    They are the numbers that :func:`tubside.learning.proposing.proposals` offers, before these
    are rounded for a layer.
    """
    whose = whose or Whose(said.family)
    tally = tallied(counts, whose)
    calls = learned_calls(said, tally, whose, worth)
    findings = dict(said.findings)
    for row in learned_rows(said, tally, worth.outcomes):
        findings[row.finding] = _with_row(findings[row.finding], row)
    return replace(said, weights=calls.weights, reported=calls.reported, findings=findings)


def _with_row(looked: Looked, row: LearnedRow) -> Looked:
    if row.cause == HEALTHY:
        return replace(looked, healthy=row.mean)
    rows = looked.rows.copy()
    rows[looked.causes.index(row.cause)] = row.mean
    return replace(looked, rows=rows)
