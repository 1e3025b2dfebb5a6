"""What to have aboard: the parts that the plan fits, and how often."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from tubside.diagnosis.plan.staged import Staged
from tubside.diagnosis.plan.walking import Walked

LEAST_WANTED = 0.03
MOST_SHOWN = 8


@dataclass(frozen=True, slots=True)
class Loaded:
    """A part kind: chance that the plan fits it, whether it is aboard, whether it is ordered.

    ``ordered`` is the chance that the plan orders it before the first visit.
    """

    part: int
    wanted: float
    aboard: bool
    ordered: float


def loaded_parts(staged: Staged, walked: Walked) -> tuple[Loaded, ...]:
    """Parts that some walk fitted or ordered, the likeliest first."""
    fitted: Counter[int] = Counter()
    ordered: Counter[int] = Counter()
    for walk in walked.walks:
        fitted.update(walk.fitted)
        ordered.update(walk.ordered)
    count = len(walked.walks)
    found = [
        Loaded(part, fitted[part] / count, part in staged.aboard, ordered[part] / count)
        for part in fitted | ordered
    ]
    likely = [part for part in found if max(part.wanted, part.ordered) >= LEAST_WANTED]
    return tuple(sorted(likely, key=lambda one: (-one.wanted, one.part))[:MOST_SHOWN])
