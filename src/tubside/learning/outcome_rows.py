"""What a finding shows with each cause: rows learned from what was told in closed jobs.

What is told is not the state itself: observers err as the pack says, and a cause may not show at
a look. So each row is a mixture whose sources are the states (:mod:`tubside.learning.mixing`),
and a row told by observers who err often moves less. Causes that leave a finding alone speak of
its healthy row. Looks count one by one; two looks of one job at one finding count twice.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.learning.mixing import mixed
from tubside.learning.proportions import Floats
from tubside.learning.tables import Looked, Tables
from tubside.learning.tallies import Pair, Tally, by_remedy_only

HEALTHY = ""
"""Stands for the healthy row where a cause is named."""


@dataclass(frozen=True, slots=True)
class LearnedRow:
    """One row of a finding as learned; each share with the size of sample it is worth."""

    finding: str
    cause: str
    outcomes: tuple[str, ...]
    said: Floats  # (k,)
    mean: Floats  # (k,)
    size: Floats  # (k,)
    met: float
    by_remedy_only: float


Told = dict[str, dict[str, dict[Pair, float]]]


def learned_rows(tables: Tables, tally: Tally, worth: float) -> list[LearnedRow]:
    """Every row that something was told about, in the order of the pack."""
    met, how = _sorted(tables, tally)
    return [
        row
        for name in tables.findings
        if name in met
        for row in _rows(tables, name, met[name], how[name], worth)
    ]


def _sorted(tables: Tables, tally: Tally) -> tuple[Told, dict[str, dict[str, dict[str, float]]]]:
    """Finding -> cause -> (check, outcome@observer) -> jobs; and how these were made sure."""
    met: Told = {}
    how: dict[str, dict[str, dict[str, float]]] = {}
    for (check, cause), told in tally.outcomes.items():
        if check not in tables.said or tables.origin(cause) < 0:
            continue
        finding = tables.said[check][0]
        row = cause if cause in tables.findings[finding].causes else HEALTHY
        under = met.setdefault(finding, {}).setdefault(row, {})
        sure = how.setdefault(finding, {}).setdefault(row, {})
        for (said, made_sure), jobs in told.items():
            if _is_known(tables, check, said):
                under[check, said] = under.get((check, said), 0.0) + jobs
                sure[made_sure] = sure.get(made_sure, 0.0) + jobs
    return met, how


def _is_known(tables: Tables, check: str, said: str) -> bool:
    finding, observers = tables.said[check]
    outcome, _, by = said.partition("@")
    return by in observers and outcome in tables.findings[finding].outcomes


def _rows(
    tables: Tables,
    finding: str,
    met: dict[str, dict[Pair, float]],
    how: dict[str, dict[str, float]],
    worth: float,
) -> list[LearnedRow]:
    looked = tables.findings[finding]
    causes = [cause for cause in (HEALTHY, *looked.causes) if sum(met.get(cause, {}).values()) > 0]
    if not causes:
        return []
    told = sorted({key for cause in causes for key in met[cause]})
    tells = np.array([_tells(tables, looked, key) for key in told])
    said = np.array([_said(looked, cause) for cause in causes])
    shows = np.array(
        [1.0 if c == HEALTHY else looked.shows[looked.causes.index(c)] for c in causes]
    )
    quiet = (tells @ looked.healthy)[None, :, None]
    likely = shows[:, None, None] * tells[None] + (1.0 - shows)[:, None, None] * quiet
    often = np.array([[met[cause].get(key, 0.0) for key in told] for cause in causes])
    found = mixed(worth * said, np.zeros_like(said), likely, often)
    return [
        LearnedRow(
            finding,
            cause,
            looked.outcomes,
            said[i],
            found.mean[i],
            found.size[i],
            float(often[i].sum()),
            by_remedy_only(how[cause]),
        )
        for i, cause in enumerate(causes)
    ]


def _tells(tables: Tables, looked: Looked, key: Pair) -> Floats:
    """P(this is told | state): (k,)."""
    outcome, _, by = key[1].partition("@")
    return tables.said[key[0]][1][by][:, looked.outcomes.index(outcome)]


def _said(looked: Looked, cause: str) -> Floats:
    return looked.healthy if cause == HEALTHY else looked.rows[looked.causes.index(cause)]
