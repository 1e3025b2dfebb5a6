"""Closed jobs of a simulated shop, written as the shop itself would count them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from tubside.learning.calls import told_chances
from tubside.learning.history import MILLION, CheckTold, ClosedJob, Sure
from tubside.learning.proportions import Floats
from tubside.learning.tables import Tables, seen_row, tables_of
from tubside.pack.schema import Pack
from tubside.trial.shops import Oddity, Truth

SURE: tuple[tuple[Sure, float], ...] = (
    ("re-run", 0.4),
    ("remedy-worked", 0.1),
    ("seen", 0.25),
    ("measured", 0.15),
    ("not-confirmed", 0.1),
)
LOOKS = 4
"""Checks of one job."""
CUSTOMER_SAYS = 0.3
"""How often a customer answers a check that one may answer."""
FIRST_DAY = date(2026, 1, 5)
JOBS_A_DAY = 4


@dataclass(frozen=True, slots=True)
class Bench:
    """What is the same for every job of a shop: the pack, its tables, and what checks tell."""

    pack: Pack
    said: Tables
    looks: tuple[tuple[str, ...], ...]
    """For each complaint the checks that are worth a look there."""
    remedies: dict[str, tuple[str, ...]]
    """Cause -> remedies that may clear it."""


def bench_of(pack: Pack) -> Bench:
    """Which checks suit which complaint: those of findings that its likeliest causes alter."""
    said = tables_of(pack)
    joint = said.weights[:, None] * said.reported
    looks = []
    for column in joint.T:
        likely = {said.origins[i] for i in np.argsort(-column)[:8]}
        suits = [c for c, (f, _) in said.said.items() if likely & set(said.findings[f].causes)]
        looks.append(tuple(suits or said.said))
    remedies = {
        cause: tuple(name for name, remedy in pack.remedies.items() if cause in remedy.clears)
        for cause in pack.causes
    }
    return Bench(pack, said, tuple(looks), remedies)


def closed_jobs(
    bench: Bench, truth: Truth, count: int, rng: np.random.Generator, odd: Oddity | None = None
) -> list[ClosedJob]:
    """So many closed jobs of the shop, in their order."""
    odd = odd or Oddity()
    return [_job(bench, truth, number, rng, odd) for number in range(count)]


def _job(
    bench: Bench, truth: Truth, number: int, rng: np.random.Generator, odd: Oddity
) -> ClosedJob:
    tables = truth.tables
    origin = _pick(tables.weights, rng)
    complaint = _pick(tables.reported[origin], rng)
    cause = tables.origins[origin]
    checks = _checks(bench, truth, cause, complaint, (rng, odd))
    sure = SURE[_pick(np.array([share for _, share in SURE]), rng)][0]
    remedies = _remedies(bench, truth, cause, sure, rng)
    return ClosedJob(
        job=f"j{number}",
        closed=FIRST_DAY + timedelta(days=number // JOBS_A_DAY),
        family=tables.family,
        model="aldermoor-tern",
        shop="mill-lane",
        complaint=tables.conditions[complaint],
        age_years=float(_pick(truth.ages[origin], rng)),
        causes=_closed_as(bench, cause, complaint, (checks, sure), (rng, odd)),
        several=MILLION * int(rng.random() < truth.second_faults),
        sure=sure,
        checks=checks,
        decided=_decided(bench, cause, checks, sure),
        remedies=remedies,
        minutes=_minutes(truth, checks, remedies, rng),
        prices=_prices(bench, truth, remedies, rng),
        by_phone=bool(rng.random() < truth.by_phone[origin]),
        callback_of="earlier" * bool(rng.random() < truth.callbacks[origin]),
    )


def _pick(weights: Floats, rng: np.random.Generator) -> int:
    steps = np.cumsum(weights)
    return min(int(np.searchsorted(steps, rng.random() * steps[-1])), len(steps) - 1)


Luck = tuple[np.random.Generator, Oddity]


def _checks(
    bench: Bench, truth: Truth, cause: str, complaint: int, luck: Luck
) -> tuple[CheckTold, ...]:
    """Checks that suit the complaint, each finding looked at once."""
    rng, odd = luck
    suits, tables = bench.looks[complaint], truth.tables
    told: dict[str, CheckTold] = {}
    for at in rng.integers(len(suits), size=LOOKS):
        check = suits[at]
        finding, observers = tables.said[check]
        if finding in told:
            continue
        may = bench.pack.checks[check].who
        by = "customer" if "customer" in may and rng.random() < CUSTOMER_SAYS else "technician"
        by = by if by in may else may[0]
        looked = tables.findings[finding]
        state = _pick(seen_row(looked, cause), rng)
        row = observers[by][state].copy()
        if odd.errs_more != 1.0:
            others = np.arange(len(row)) != state
            row[others] = np.minimum(row[others] * odd.errs_more, 0.9 / len(row))
            row[state] = 1.0 - row[others].sum()
        told[finding] = CheckTold(check, looked.outcomes[_pick(row, rng)], by)
    return tuple(told.values())


def _remedies(
    bench: Bench, truth: Truth, cause: str, sure: Sure, rng: np.random.Generator
) -> dict[str, bool]:
    """One remedy for the cause; it cured where the cause was made sure by its working."""
    ways = bench.remedies.get(cause, ())
    if not ways:
        return {}
    remedy = ways[int(rng.integers(len(ways)))]
    works = bool(rng.random() < truth.clears[remedy, cause])
    return {remedy: works or sure in {"re-run", "remedy-worked"}}


def _decided(bench: Bench, cause: str, checks: tuple[CheckTold, ...], sure: Sure) -> frozenset[str]:
    """The check that speaks most for the cause, where a look or a reading made it sure."""
    if sure not in {"seen", "measured"} or not checks:
        return frozenset()
    chances, at = told_chances(bench.said), bench.said.origin(cause)

    def weight(told: CheckTold) -> float:
        likely = chances(told.check, told.outcome, told.by)
        return 0.0 if likely is None else float(likely[at] / (likely @ bench.said.weights))

    return frozenset({max(checks, key=weight).check})


def _closed_as(
    bench: Bench, cause: str, complaint: int, told: tuple[tuple[CheckTold, ...], Sure], luck: Luck
) -> dict[str, int]:
    """The cause; where it stayed in doubt the pack's belief; where the shop errs another one."""
    (checks, sure), (rng, odd) = told, luck
    said = bench.said
    if sure != "not-confirmed" and rng.random() >= odd.wrong_causes:
        return {cause: MILLION}
    belief = said.weights * said.reported[:, complaint]
    if sure != "not-confirmed":
        return {said.origins[_pick(belief, rng)]: MILLION}
    chances = told_chances(said)
    for one in checks:
        likely = chances(one.check, one.outcome, one.by)
        belief = belief if likely is None else belief * likely
    parts = np.floor(MILLION * belief / belief.sum()).astype(int).tolist()
    return {name: part for name, part in zip(said.origins, parts, strict=True) if part >= 1000}


def _minutes(
    truth: Truth, checks: tuple[CheckTold, ...], remedies: dict[str, bool], rng: np.random.Generator
) -> dict[str, int]:
    steps = [("checks", told.check) for told in checks] + [("remedies", name) for name in remedies]
    found = {}
    for step in steps:
        one = truth.minutes[step]
        found[step[1]] = round(float(np.exp(one.mu + one.sigma * rng.standard_normal())))
    return found


def _prices(
    bench: Bench, truth: Truth, remedies: dict[str, bool], rng: np.random.Generator
) -> dict[str, int]:
    found = {}
    for name in remedies:
        for part in bench.pack.remedies[name].parts:
            one = truth.prices[part]
            found[part] = round(float(np.exp(one.mu + one.sigma * rng.standard_normal())))
    return found
