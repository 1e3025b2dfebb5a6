"""Simulated shops whose true numbers are known: drawn about a pack, as far off as it may be.

Each shop's weights, rows, chances and minutes are drawn from the very prior that learning starts
from, so that an interval said to hold nine in ten must hold nine in ten over many shops. An
:class:`Oddity` takes the shop off that model.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from tubside.learning.ageing import MIX_WORTH
from tubside.learning.proportions import Floats
from tubside.learning.proposal import Proposal
from tubside.learning.rates import CALLBACK_WORTH, CALLBACKS, PHONE_WORTH, by_customers, kept
from tubside.learning.tables import LEAST, Looked, Tables, floored, tables_of
from tubside.learning.worth import USUAL, Worth
from tubside.pack.ageing import age_factors
from tubside.pack.fault_model import HEALTHY_IDS
from tubside.pack.schema import Pack

TINY = 1e-9


@dataclass(frozen=True, slots=True)
class Oddity:
    """How a shop departs from what learning assumes; all nought is not at all."""

    wrong_causes: float = 0.0
    """Share of confirmed jobs that are closed with another cause of the same complaint."""
    weights_factor: float = 1.0
    """Each weight is that many times too large or too small, beyond what the prior draws."""
    errs_more: float = 1.0
    """How many times more often than the pack says observers err."""
    changes: bool = False
    """Whether the shop draws new weights after half of its jobs."""


@dataclass(frozen=True, slots=True)
class Lognormal:
    """Minutes or cents: mean and sigma of the logarithm."""

    mu: float
    sigma: float

    @property
    def mean(self) -> float:
        """Of the values."""
        return float(np.exp(self.mu + self.sigma**2 / 2.0))


@dataclass(frozen=True, slots=True)
class Truth:
    """The true numbers of one shop, in the shape of the pack's tables."""

    tables: Tables
    ages: Floats  # (m, years) P(age | origin)
    shapes: Floats  # (n,) of the causes
    clears: dict[tuple[str, str], float]
    minutes: dict[tuple[str, str], Lognormal]
    prices: dict[str, Lognormal]
    second_faults: float
    by_phone: Floats  # (m,) chance that a call is cleared without a visit
    callbacks: Floats  # (m,) chance that a call is a return


def draw_truth(
    pack: Pack, rng: np.random.Generator, odd: Oddity | None = None, worth: Worth = USUAL
) -> Truth:
    """One shop's true numbers, drawn about the pack's."""
    odd = odd or Oddity()
    said = tables_of(pack)
    weights = _row(said.weights, worth.weights, rng)
    if odd.weights_factor != 1.0:
        weights = weights * odd.weights_factor ** rng.choice([-1.0, 1.0], len(weights))
        weights /= weights.sum()
    shapes = np.array([c.ageing for c in pack.causes.values()])
    shapes = np.clip(
        shapes * np.exp(worth.ageing_sigma * rng.standard_normal(len(shapes))), 0.2, 12
    )
    mix = _row(np.array(pack.age_mix) / sum(pack.age_mix), MIX_WORTH, rng)
    factors = np.vstack([np.ones((len(HEALTHY_IDS), len(mix))), age_factors(shapes, mix)])
    findings = {name: _finding(looked, worth, rng) for name, looked in said.findings.items()}
    steps = [("checks", n, c.minutes) for n, c in pack.checks.items()]
    steps += [("remedies", n, r.minutes) for n, r in pack.remedies.items()]
    return Truth(
        tables=Tables(
            said.family,
            said.origins,
            said.conditions,
            weights,
            np.array([_row(row, worth.reported, rng) for row in said.reported]),
            findings,
            said.said,
        ),
        ages=mix * factors,
        shapes=shapes,
        clears=_clears(pack, worth, rng),
        minutes={
            (section, name): _lognormal(minutes, worth.minutes_sigma, worth.minutes, rng)
            for section, name, minutes in steps
        },
        prices={
            name: _lognormal(
                50.0 * (p.price_low + p.price_high), worth.price_sigma, worth.price, rng
            )
            for name, p in pack.parts.items()
        },
        second_faults=_chance(pack.second_fault_share, worth.second_faults, rng),
        by_phone=_chances([kept(said) for said in by_customers(pack).values()], PHONE_WORTH, rng),
        callbacks=_chances([CALLBACKS] * len(said.origins), CALLBACK_WORTH, rng),
    )


def true_values(truth: Truth, proposal: Proposal) -> Floats:
    """What is really so, beside each part of a proposal."""
    target, tables = proposal.target, truth.tables
    if proposal.what == "outcomes":
        looked = tables.findings[target[1]]
        return (
            looked.healthy
            if target[2] == "healthy"
            else looked.rows[looked.causes.index(target[3])]
        )
    if proposal.what == "reported":
        row = tables.reported[tables.origin(target[1])]
        return np.array([row[tables.conditions.index(part.name)] for part in proposal.parts])
    return np.array([_true_value(truth, proposal)])


def _true_value(truth: Truth, proposal: Proposal) -> float:
    target, tables = proposal.target, truth.tables
    match proposal.what:
        case "weight":
            return 1000.0 * float(tables.weights[tables.origin(target[1])])
        case "clears":
            return truth.clears[target[1], target[3]]
        case "minutes":
            return truth.minutes[target[0], target[1]].mean
        case "price":
            return truth.prices[target[1]].mean / 100.0
        case "ageing":
            return float(truth.shapes[tables.origin(target[1]) - len(HEALTHY_IDS)])
        case _:
            return truth.second_faults


def _row(row: Floats, worth: float, rng: np.random.Generator) -> Floats:
    drawn = np.maximum(rng.dirichlet(worth * row), TINY)
    return np.asarray(drawn / drawn.sum())


def _chance(said: float, worth: float, rng: np.random.Generator) -> float:
    if said <= 0.0 or said >= 1.0:
        return said
    return float(rng.beta(worth * said, worth * (1.0 - said)))


def _chances(said: Iterable[float], worth: float, rng: np.random.Generator) -> Floats:
    return np.array([_chance(one, worth, rng) for one in said])


def _finding(looked: Looked, worth: Worth, rng: np.random.Generator) -> Looked:
    rows = [_row(row, worth.outcomes, rng) for row in looked.rows]
    return Looked(
        looked.outcomes,
        floored(_row(looked.healthy, worth.outcomes, rng), LEAST),
        looked.causes,
        np.array(rows).reshape(looked.rows.shape),
        looked.shows,
    )


def _clears(pack: Pack, worth: Worth, rng: np.random.Generator) -> dict[tuple[str, str], float]:
    return {
        (name, cause): _chance(
            (chance.customer or 0.0) if chance.technician is None else chance.technician,
            worth.clears,
            rng,
        )
        for name, remedy in pack.remedies.items()
        for cause, chance in remedy.clears.items()
    }


def _lognormal(mean: float, sigma: float, worth: float, rng: np.random.Generator) -> Lognormal:
    """Spread and middle drawn as learning believes them before any value was told."""
    drawn = sigma * np.sqrt(worth / rng.chisquare(worth))
    median = np.log(max(mean, 0.5)) - sigma**2 / 2.0
    return Lognormal(float(median + drawn / np.sqrt(worth) * rng.standard_normal()), float(drawn))
