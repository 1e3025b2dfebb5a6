"""How good the chances were: as they were shown at the call, and foretold job by job."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from tubside.learning.calibration import Bin, reliability
from tubside.learning.history import ClosedJob
from tubside.learning.prequential import SAYS, foretold
from tubside.learning.proposal import Whose
from tubside.pack.schema import Pack
from tubside.service.learning.history import KINDS, OWN_SHOP
from tubside.service.records import AdviceShown
from tubside.service.replay import counting, line_of
from tubside.store.closed_facts import closed_facts
from tubside.store.opening import Store

SAYS_WORDS = dict(
    zip(
        SAYS,
        ("the pack with what was learned", "the pack as it came", "how often each was met so far"),
        strict=True,
    )
)
LEAST_FORETOLD = 10
"""Fewer scored jobs tell nothing."""


@dataclass(frozen=True, slots=True)
class Scored:
    """One way of saying chances: mean log score (nought is best) and Brier score (too)."""

    says: str
    log_score: float
    brier: float


@dataclass(frozen=True, slots=True)
class Calibration:
    """What was shown at calls, as bins; and the scores of jobs foretold one by one."""

    shown: tuple[Bin, ...]
    shown_jobs: int
    scores: tuple[Scored, ...]
    foretold: tuple[Bin, ...]
    foretold_jobs: int


def calibration(store: Store, jobs: Sequence[ClosedJob], pack: Pack) -> Calibration:
    """How good chances of one family were, on jobs whose one cause was made sure.

    Parameters
    ----------
    jobs : sequence of ClosedJob
        Of all families; only those of the pack's count.
    pack : Pack
        As it was shipped.
    """
    mine = sorted((job for job in jobs if job.family == pack.family), key=lambda job: job.closed)
    sure = {job.job: set(job.causes) for job in mine if job.sure != "not-confirmed"}
    pairs = list(_shown(store, sure))
    said = np.array([chance for told in pairs for chance, _ in told])
    came = np.array([float(was) for told in pairs for _, was in told])
    shown = reliability(said, came) if len(said) else ()
    if len(sure) < LEAST_FORETOLD:
        return Calibration(shown, len(pairs), (), (), 0)
    found = foretold(mine, pack, Whose(pack.family, OWN_SHOP))
    log_scores, brier = found.log_scores(), found.brier_scores()
    scores = tuple(
        Scored(SAYS_WORDS[says], float(log_scores[n].mean()), float(brier[n].mean()))
        for n, says in enumerate(SAYS)
        if len(found.true)
    )
    bins = found.diagram() if len(found.true) else ()
    return Calibration(shown, len(pairs), scores, bins, len(found.true))


def _shown(store: Store, sure: dict[str, set[str]]) -> Iterator[list[tuple[float, bool]]]:
    """Of each job the chances first shown, and whether each cause was there."""
    with store.reading() as opened:
        for job, rows in closed_facts(opened, KINDS):
            if job not in sure:
                continue
            advice = next((b for b in counting(line_of(rows)) if isinstance(b, AdviceShown)), None)
            if advice is not None and advice.leading:
                yield [(chance, cause in sure[job]) for cause, chance in advice.leading.items()]
