r"""Which check decided what a job's cause was: the one that spoke most for it.

The weight of evidence of one telling e for the cause i (Good 1985),

    W = ln P(e | i) / P(e | not i),    P(e | not i) = sum_j w_j P(e | j) / sum_j w_j

over all j but i, with w_j the share of j among calls with the same complaint by the pack. Each
origin is taken alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import log

import numpy as np

from tubside.learning.calls import told_chances
from tubside.learning.history import CheckTold
from tubside.learning.tables import Tables

LEAST = 1e-12


class Deciding:
    """Weights of evidence by the tables of one pack."""

    def __init__(self, tables: Tables) -> None:
        self._tables = tables
        self._chances = told_chances(tables)

    def decided(
        self, checks: Sequence[CheckTold], causes: Sequence[str], complaint: str
    ) -> frozenset[str]:
        """For each cause the check that spoke most for it; none that spoke against it.

        Parameters
        ----------
        checks : sequence of CheckTold
            All that were told.
        causes : sequence of str
            The causes with which the job was closed.
        complaint : str
            A condition, or empty.
        """
        found = set()
        for cause in causes:
            weights = [(self.weight(told, cause, complaint), told.check) for told in checks]
            weight, check = max(weights, default=(0.0, ""))
            if weight > 0.0:
                found.add(check)
        return frozenset(found)

    def weight(self, told: CheckTold, cause: str, complaint: str) -> float:
        """The weight of one telling for a cause [nats]; nought where the pack knows no such."""
        at = self._tables.origin(cause)
        chances = self._chances(told.check, told.outcome, told.by)
        if at < 0 or chances is None:
            return 0.0
        share = self._tables.weights.copy()
        if complaint in self._tables.conditions:
            share *= self._tables.reported[:, self._tables.conditions.index(complaint)]
        share[at] = 0.0
        others = float(share @ chances) / max(float(np.sum(share)), LEAST)
        return log(max(float(chances[at]), LEAST) / max(others, LEAST))
