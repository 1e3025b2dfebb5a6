"""Minutes and prices learned: what steps take and parts cost at this shop."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import exp

from tubside.learning.durations import Told, duration, mean_of
from tubside.learning.proportions import Learned
from tubside.learning.proposal import Part, Proposal, inside, number, single
from tubside.learning.tallies import Tally
from tubside.learning.worth import Worth
from tubside.pack.schema import Pack

LEAST_SAID = 0.5
"""What a pack that says nought is taken to mean, in minutes or cents."""


def minutes(pack: Pack, tally: Tally, worth: Worth) -> Iterator[Proposal]:
    """Minutes of checks, then of remedies: their means."""
    for section, steps in (("checks", pack.checks), ("remedies", pack.remedies)):
        for name, step in steps.items():
            if counts := tally.minutes.get(name):
                said = float(step.minutes)
                found = _mean(counts, said, (worth.minutes_sigma, worth.minutes), 1.0)
                target = (section, name, "minutes")
                yield single(target, "minutes", said, found, digits=3, unit="min")


def prices(pack: Pack, tally: Tally, worth: Worth) -> Iterator[Proposal]:
    """Prices of part kinds: the range is moved as a whole, its middle to the mean paid."""
    for name, part in pack.parts.items():
        if counts := tally.prices.get(name):
            middle = (part.price_low + part.price_high) / 2.0
            found = _mean(counts, 100.0 * middle, (worth.price_sigma, worth.price), 0.0)
            by = found.mean / 100.0 / max(middle, LEAST_SAID / 100.0)
            low, high = found.low / 100.0, found.high / 100.0
            target = ("parts", name)
            yield Proposal(
                id=" / ".join((*target, "price")),
                what="price",
                edits=(
                    ((*target, "price_low"), number(by * part.price_low, 3)),
                    ((*target, "price_high"), number(by * part.price_high, 3)),
                ),
                parts=(Part("", middle, inside(found.mean / 100.0, low, high), low, high),),
                jobs=found.jobs,
                met=found.jobs,
                prior_jobs=found.prior_jobs,
                unit="$",
            )


def _mean(
    counts: Mapping[int, float], said: float, prior: tuple[float, float], width: float
) -> Learned:
    """The mean of what was counted; ``prior`` is sigma and its worth in values."""
    sigma, worth = prior
    median = max(said, LEAST_SAID) / exp(sigma**2 / 2.0)
    return mean_of(duration(counts, Told(median, sigma, worth), width=width))
