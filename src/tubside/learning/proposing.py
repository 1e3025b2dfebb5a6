"""From counts to proposals: every number of a pack that something was counted for."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from tubside.learning.ageing import age_table, machines_mix, shapes
from tubside.learning.calls import Calls, learned_calls
from tubside.learning.counts import Counts
from tubside.learning.outcome_rows import HEALTHY, LearnedRow, learned_rows
from tubside.learning.proportions import ends, share
from tubside.learning.proposal import (
    Part,
    Proposal,
    Value,
    Whose,
    inside,
    named_row_texts,
    number,
    row_texts,
    single,
)
from tubside.learning.spending import minutes, prices
from tubside.learning.tables import Tables, tables_of
from tubside.learning.tallies import Tally, by_remedy_only, tallied
from tubside.learning.worth import USUAL, Worth
from tubside.pack.check_numbers import CALLS
from tubside.pack.fault_model import HEALTHY_IDS
from tubside.pack.schema import Clears, Pack

AGEING_ROUNDS = 3
"""The mix of ages and the shapes are learned from one another, by turns."""
LEAST_MET = 0.05
"""Fewer jobs than that, all fractions added, are no reason to speak of a number."""


def proposals(
    counts: Counts, pack: Pack, whose: Whose | None = None, worth: Worth = USUAL
) -> tuple[Proposal, ...]:
    """What the counts say of the pack's own numbers, in the order of the pack.

    Parameters
    ----------
    counts : Counts
        Of this shop, others beside it where there are any; other families are left out.
    pack : Pack
        What is learned on: the shop's, its layer applied, or the shipped one.
    whose : Whose
        Which shop and model; all of the pack's family when absent.
    worth : Worth
        What the pack's own word counts for.

    Notes
    -----
    Counts must not hold jobs that the pack has learned from already: learn on the shipped pack
    with all counts, or on the shop's with those since.
    """
    whose = whose or Whose(pack.family)
    tables, tally = tables_of(pack), tallied(counts, whose)
    calls = learned_calls(tables, tally, whose, worth)
    rows = learned_rows(tables, tally, worth.outcomes)
    return (
        *_weights(tables, tally, calls),
        *_reported(pack, tables, tally, calls, worth),
        *(_outcomes(row, worth) for row in rows if row.met >= LEAST_MET),
        *_clears(pack, tally, worth),
        *minutes(pack, tally, worth),
        *prices(pack, tally, worth),
        *_ageing(pack, tally, worth),
        *_second_faults(pack, tally, worth),
    )


def place_id(*target: str) -> str:
    """A place as one text, as layers write it.

    >>> place_id("causes", "belt", "weight")
    'causes / belt / weight'
    """
    return " / ".join(target)


def section_of(origin: str) -> str:
    """In which section of a pack an origin of calls stands."""
    return "healthy" if origin in HEALTHY_IDS else "causes"


def _weights(tables: Tables, tally: Tally, calls: Calls) -> Iterator[Proposal]:
    low, high = ends(calls.weights, calls.size)
    for i, origin in enumerate(tables.origins):
        if calls.met[i] < LEAST_MET:
            continue
        target = (section_of(origin), origin, "weight")
        learned = CALLS * inside(float(calls.weights[i]), float(low[i]), float(high[i]))
        said = CALLS * float(tables.weights[i])
        yield Proposal(
            id=place_id(*target),
            what="weight",
            edits=((target, number(learned)),),
            parts=(Part("", said, learned, CALLS * float(low[i]), CALLS * float(high[i])),),
            jobs=max(float(calls.size[i]) - calls.passed.worth, 0.0),
            met=float(calls.met[i]),
            prior_jobs=calls.passed.worth,
            share_by_remedy_only=by_remedy_only(tally.sure.get(origin, {})),
            unit="per 1000 calls",
        )


def _reported(
    pack: Pack, tables: Tables, tally: Tally, calls: Calls, worth: Worth
) -> Iterator[Proposal]:
    low, high = ends(
        calls.reported, np.broadcast_to(calls.reported_size[:, None], calls.reported.shape)
    )
    for i, origin in enumerate(tables.origins):
        if calls.reported_met[i] < LEAST_MET:
            continue
        target = (section_of(origin), origin, "reported_as")
        row = pack.healthy[origin] if origin in HEALTHY_IDS else pack.causes[origin]
        said = row.reported_as
        named = dict(zip(tables.conditions, calls.reported[i].tolist(), strict=True))
        value = named_row_texts(named, frozenset(said))
        assert isinstance(value, dict)
        parts = (
            Part(name, said.get(name, 0.0), inside(named[name], a, b), a, b)
            for name, a, b in zip(tables.conditions, low[i].tolist(), high[i].tolist(), strict=True)
            if name in value
        )
        yield Proposal(
            id=place_id(*target),
            what="reported",
            edits=((target, value),),
            parts=tuple(parts),
            jobs=float(calls.reported_met[i]),
            met=float(calls.reported_met[i]),
            prior_jobs=worth.reported,
            share_by_remedy_only=by_remedy_only(tally.sure.get(origin, {})),
        )


def _outcomes(row: LearnedRow, worth: Worth) -> Proposal:
    low, high = ends(row.mean, row.size)
    place = ("healthy",) if row.cause == HEALTHY else ("causes", row.cause)
    target = ("findings", row.finding, *place)
    numbers = zip(row.outcomes, row.said, row.mean, low, high, strict=True)
    value: Value = row_texts(row.mean.tolist())
    return Proposal(
        id=place_id(*target),
        what="outcomes",
        edits=((target, value),),
        parts=tuple(
            Part(name, float(said), inside(float(mean), float(a), float(b)), float(a), float(b))
            for name, said, mean, a, b in numbers
        ),
        jobs=max(float(row.size.min()) - worth.outcomes, 0.0),
        met=row.met,
        prior_jobs=worth.outcomes,
        share_by_remedy_only=row.by_remedy_only,
    )


def _clears(pack: Pack, tally: Tally, worth: Worth) -> Iterator[Proposal]:
    """Chances to clear; a cause that was seen or measured was so by a technician."""
    for name, remedy in pack.remedies.items():
        for cause, clears in remedy.clears.items():
            told = tally.cures.get((name, cause), {})
            jobs = sum(told.values())
            if jobs < LEAST_MET:
                continue
            who, said = _who_clears(clears)
            target = ("remedies", name, "clears", cause, who)
            found = share(told.get("yes", 0.0), jobs, said, worth.clears)
            yield single(target, "clears", said, found, met=told.get("yes", 0.0))


def _who_clears(clears: Clears) -> tuple[str, float]:
    if clears.technician is not None:
        return "technician", clears.technician
    return "customer", clears.customer or 0.0


def _ageing(pack: Pack, tally: Tally, worth: Worth) -> Iterator[Proposal]:
    names = list(pack.causes)
    met = age_table(tally.ages, names, len(pack.age_mix))
    every = age_table(tally.ages, [*HEALTHY_IDS, *names], len(pack.age_mix))
    said = np.array([cause.ageing for cause in pack.causes.values()])
    some = np.flatnonzero(met.sum(axis=1) >= LEAST_MET)
    mix, shape = np.array(pack.age_mix, dtype=float), said
    for _ in range(AGEING_ROUNDS):
        every_shape = np.concatenate([np.ones(len(HEALTHY_IDS)), shape])
        risk = machines_mix(every, mix, every_shape)
        found = shapes(met[some], said[some], risk, worth.ageing_sigma)
        shape = said.copy()
        shape[some] = [one.mean for one in found]
    for i, one in zip(some.tolist(), found, strict=True):
        target = ("causes", names[i], "ageing")
        yield single(target, "ageing", float(said[i]), one, digits=3)


def _second_faults(pack: Pack, tally: Tally, worth: Worth) -> Iterator[Proposal]:
    told = tally.several.get("", {})
    jobs = sum(told.values())
    if jobs >= LEAST_MET:
        met, said = told.get("yes", 0.0), pack.second_fault_share
        found = share(met, jobs, said, worth.second_faults)
        target = ("second_fault_share",)
        yield single(target, "second-faults", said, found, met=met)
