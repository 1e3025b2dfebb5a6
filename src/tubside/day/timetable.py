"""A planned day told: when each visit is likely to begin, and the chance to be late."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tubside.day.draws import Draws
from tubside.day.problem import Day, Floats
from tubside.day.running import legs, one_order, outcome
from tubside.day.search import Rounds


@dataclass(frozen=True, slots=True)
class Likely:
    """A time or a length of time [s]: its mean, and the range that holds 80 % of days."""

    mean: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Visit:
    """One visit of a round."""

    stop: str
    drive: float  # s, expected, from the place before
    metres: float
    waits: float  # s, expected, at the door until the window opens
    begins: Likely
    ends: Likely
    late: float  # the chance that it begins after the promise has closed; nought without one


@dataclass(frozen=True, slots=True)
class Round:
    """One technician's visits in order."""

    technician: str
    visits: tuple[Visit, ...]
    finish: Likely  # at the end place
    overtime: float  # the chance to end after hours
    work: float  # s, expected, from the beginning of the hours (or of what is left of them)
    driving: float  # s, expected
    metres: float
    cost: float  # expected

    @property
    def order(self) -> tuple[str, ...]:
        """The ids of the stops in order."""
        return tuple(visit.stop for visit in self.visits)


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A stop that nobody can visit, and why."""

    stop: str
    why: str


@dataclass(frozen=True, slots=True)
class DayPlan:
    """Who goes where in which order, what it costs and how sure that is."""

    rounds: tuple[Round, ...]
    left_out: tuple[LeftOut, ...]
    cost: float  # expected, all rounds
    error: float  # standard error of `cost`, from the number of days drawn
    method: str  # "exact", "fleet" or "small changes"
    proven: bool  # the order is the best for expected times; see docs
    notes: tuple[str, ...] = ()

    @property
    def orders(self) -> dict[str, tuple[str, ...]]:
        """Technician -> ids of the stops in order."""
        return {one.technician: one.order for one in self.rounds}

    @property
    def late(self) -> dict[str, float]:
        """Stop -> chance to be late."""
        return {visit.stop: visit.late for one in self.rounds for visit in one.visits}


def told(day: Day, rounds: Rounds, draws: Draws) -> tuple[tuple[Round, ...], float, float]:
    """Return the rounds told, the expected cost of them all and its standard error."""
    results = [_round(day, k, order, draws) for k, order in enumerate(rounds)]
    cost = np.sum([costs for _, costs in results], axis=0)
    error = float(cost.std()) / np.sqrt(draws.count)
    return tuple(one for one, _ in results), float(cost.mean()), float(error)


def _round(day: Day, k: int, order: list[int], draws: Draws) -> tuple[Round, Floats]:
    table, one = one_order(order), day.technicians[k]
    result = outcome(day, k, table, draws)
    visits, here, driving = [], day.start_node(k), 0.0
    for leg in legs(day, k, table, draws):
        stop = int(leg.stop[0])
        visits.append(
            Visit(
                stop=day.stops[stop].id,
                drive=float(day.travel.seconds[here, stop]),
                metres=float(day.travel.metres[here, stop]),
                waits=float((leg.begins - leg.arrives).mean()),
                begins=_likely(leg.begins),
                ends=_likely(leg.ends),
                late=float((leg.begins > draws.closes[stop]).mean()),
            )
        )
        driving, here = driving + visits[-1].drive, stop
    finish = _likely(result.finish)
    return (
        Round(
            technician=one.id,
            visits=tuple(visits),
            finish=finish,
            overtime=float((result.finish > one.hours.closes).mean()),
            work=finish.mean - one.hours.opens,
            driving=driving + float(day.travel.seconds[here, day.start_node(k) + 1]),
            metres=float(result.metres[0]),
            cost=float(result.cost.mean()),
        ),
        result.cost[0],
    )


def _likely(times: Floats) -> Likely:
    low, high = np.quantile(times, [0.1, 0.9])
    return Likely(float(times.mean()), float(low), float(high))
