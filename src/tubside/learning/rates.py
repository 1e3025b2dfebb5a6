"""What jobs are, cause by cause: cleared without a visit, or a return for the same trouble.

No number of a pack says these; they follow from its chances to clear and from how well work was
done. They are shown, and nothing is offered for the layer. Only jobs whose cause
was made sure count: shared out, one job that a customer cleared would speak of causes that no
customer can clear.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tubside.learning.counts import Counts
from tubside.learning.proportions import Learned, share
from tubside.learning.proposal import Whose
from tubside.learning.tallies import tallied
from tubside.pack.fault_model import HEALTHY_IDS
from tubside.pack.schema import Pack

PHONE_WORTH, CALLBACK_WORTH = 10.0, 20.0
CALLBACKS = 0.05
"""Share of jobs that are returns (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Rates:
    """Of one cause: how often it is cleared without a visit, and how often it is a return."""

    cause: str
    by_phone: Learned
    said_by_phone: float
    """What the pack lets expect: the customer's best chance to clear it at one try."""
    callback: Learned


def rates(counts: Counts, pack: Pack, whose: Whose | None = None) -> tuple[Rates, ...]:
    """The rates of every cause that was met, in the order of the pack."""
    tally = tallied(counts, whose or Whose(pack.family))
    said = by_customers(pack)
    return tuple(
        Rates(
            cause,
            _share(tally.phone[cause], said[cause], PHONE_WORTH),
            said[cause],
            _share(tally.callbacks.get(cause, {}), CALLBACKS, CALLBACK_WORTH),
        )
        for cause in said
        if sum(tally.phone.get(cause, {}).values()) > 0.0
    )


def by_customers(pack: Pack) -> dict[str, float]:
    """Origin -> the best chance with which a customer clears it; one where nothing is wrong."""
    best = {**dict.fromkeys(HEALTHY_IDS, 1.0), **dict.fromkeys(pack.causes, 0.0)}
    for remedy in pack.remedies.values():
        for cause, clears in remedy.clears.items():
            best[cause] = max(best[cause], clears.customer or 0.0)
    return best


def kept(said: float) -> float:
    """A chance kept off nought and one, where no later job could move it.

    >>> kept(0.0), kept(0.3), kept(1.0)
    (0.01, 0.3, 0.99)
    """
    return min(max(said, 0.01), 0.99)


def _share(told: Mapping[str, float], said: float, worth: float) -> Learned:
    return share(told.get("yes", 0.0), sum(told.values()), kept(said), worth)
