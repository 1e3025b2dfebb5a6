"""The numbers of a pack that jobs can speak about, as arrays beside their ids.

``m`` origins of a call (what is healthy first, then the causes), ``c`` conditions, ``k``
outcomes of a finding. Rows are what a pack states, kept off nought by its floor of words.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.diagnosis.evidence import confusion
from tubside.learning.proportions import Floats
from tubside.pack.fault_model import HEALTHY_IDS, OBSERVERS
from tubside.pack.schema import Check, Finding, Pack

LEAST = 1e-4
"""What a row keeps for an outcome that the pack gives no chance."""


@dataclass(frozen=True, slots=True)
class Looked:
    """A finding as learning needs it."""

    outcomes: tuple[str, ...]
    healthy: Floats  # (k,)
    causes: tuple[str, ...]
    rows: Floats  # (r, k)
    shows: Floats  # (r,) chance that the cause shows at a look


@dataclass(frozen=True, slots=True)
class Tables:
    """What a pack says, ready to be learned on; shares of calls sum to one."""

    family: str
    origins: tuple[str, ...]  # (m,)
    conditions: tuple[str, ...]  # (c,)
    weights: Floats  # (m,)
    reported: Floats  # (m, c)
    findings: dict[str, Looked]
    said: dict[str, tuple[str, dict[str, Floats]]]
    """Check -> its finding, and P(told | state) of each observer: (k, k)."""

    def origin(self, name: str) -> int:
        """Index of an origin, -1 where the pack has no such."""
        return self.origins.index(name) if name in self.origins else -1


def tables_of(pack: Pack) -> Tables:
    """The tables of a checked pack."""
    conditions = tuple(pack.conditions)
    rows = [pack.healthy[name].reported_as for name in HEALTHY_IDS]
    rows += [cause.reported_as for cause in pack.causes.values()]
    reported = np.array([[row.get(name, 0.0) for name in conditions] for row in rows])
    weights = np.array(
        [pack.healthy[name].weight for name in HEALTHY_IDS]
        + [cause.weight for cause in pack.causes.values()]
    )
    return Tables(
        family=pack.family,
        origins=(*HEALTHY_IDS, *pack.causes),
        conditions=conditions,
        weights=weights / weights.sum(),
        reported=floored(reported, max(pack.words.said_floor, LEAST)),
        findings={name: _looked(finding, pack) for name, finding in pack.findings.items()},
        said={
            name: (check.finding, _said(check, pack))
            for name, check in pack.checks.items()
            if check.finding is not None
        },
    )


def floored(rows: Floats, least: float) -> Floats:
    """Rows that sum to one and hold ``least`` more or less everywhere.

    >>> floored(np.array([[3.0, 1.0]]), 0.01).round(4).tolist()
    [[0.7451, 0.2549]]
    """
    rows = rows / rows.sum(axis=-1, keepdims=True) + least
    return np.asarray(rows / rows.sum(axis=-1, keepdims=True))


def seen_row(looked: Looked, cause: str) -> Floats:
    """P(state at a look | cause alone), a cause that may not show among them: (k,)."""
    if cause not in looked.causes:
        return looked.healthy
    at = looked.causes.index(cause)
    shows = looked.shows[at]
    return np.asarray(shows * looked.rows[at] + (1.0 - shows) * looked.healthy)


def _looked(finding: Finding, pack: Pack) -> Looked:
    size = len(finding.outcomes)
    rows = np.array(list(finding.causes.values()), dtype=float).reshape(-1, size)
    shows = [pack.causes[name].shows if finding.needs_fault else 1.0 for name in finding.causes]
    return Looked(
        outcomes=tuple(finding.outcomes),
        healthy=floored(np.array(finding.healthy, dtype=float), LEAST),
        causes=tuple(finding.causes),
        rows=floored(rows, LEAST),
        shows=np.array(shows),
    )


def _said(check: Check, pack: Pack) -> dict[str, Floats]:
    assert check.finding is not None
    finding = pack.findings[check.finding]
    errors = {"customer": pack.words.customer_error, "technician": pack.words.technician_error}
    return {
        who: confusion(
            len(finding.outcomes),
            check.error.get(who, errors[who]),  # type: ignore[call-overload]  # OBSERVERS holds the literals
            graded=bool(finding.graded),
        )
        for who in OBSERVERS
    }
