"""Repair or replace for one job: assumptions from plan, pack and figures, then the answer."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from tubside.economics.household import NAMES, Household, Swing, swings
from tubside.economics.worth import Course, Verdict, course, verdict
from tubside.errors import WorthError
from tubside.pack.schema import Pack
from tubside.service.planning import WITHOUT_REPAIR, ToldBranch, ToldPlan
from tubside.service.views import JobView
from tubside.service.wording import dollars, figures
from tubside.service.worth_assumptions import (
    AGE_UNKNOWN,
    PLAIN,
    PRACTICE,
    SPECS,
    USES,
    Spec,
)
from tubside.service.worth_life import NO_CHANGES

DONE_WELL = 0.95
"""Of repairs that are done: those that hold (common practice, no source)."""
HALF = 0.5
AS_FRONT_LOADER = (
    "Nothing is known of how much such a machine takes; the figures of a front-loader stand here."
)


@dataclass(frozen=True, slots=True)
class Assumed:
    """One assumption as it is listed; values in SI or money, not as shown."""

    name: str
    spec: Spec
    value: float
    low: float
    high: float
    source: str
    own: bool
    """Whether somebody changed it on the page."""

    @property
    def words(self) -> str:
        """The value with its unit.

        >>> Assumed("rate", SPECS["rate"], 0.05, 0.02, 0.08, "", False).words
        '5 %'
        """
        return self.told(self.value)

    @property
    def typed(self) -> str:
        """The value as it stands in its field."""
        return f"{self.value * self.spec.shown:.6g}"

    def told(self, value: float) -> str:
        """Another value of it, with its unit."""
        if self.spec.unit == "dollars" and abs(value) >= 20.0:
            return dollars(value)
        return f"{figures(value * self.spec.shown)} {self.spec.unit}".strip()


@dataclass(frozen=True, slots=True)
class ToldWorth:
    """The answer with all it rests on."""

    assumed: tuple[Assumed, ...]
    household: Household
    verdict: Verdict
    swings: tuple[Swing, ...]
    course: Course
    notes: tuple[str, ...]

    @property
    def turning(self) -> tuple[str, ...]:
        """Assumptions that can turn the answer alone, each with the value where it turns."""
        by_name = {one.name: one for one in self.assumed}
        return tuple(
            f"{by_name[s.bar.name].spec.title}: at {by_name[s.bar.name].told(s.turns_at)}"
            for s in self.swings
            if s.turns_at is not None
        )


@dataclass(frozen=True, slots=True)
class OpenQuote:
    """What was quoted for the repair, with tax, in units of money: average, low and high end."""

    expected: float
    low: float
    high: float
    dated: date


def worth_of(
    view: JobView,
    plan: ToldPlan | None,
    typed: Mapping[str, str],
    quoted: OpenQuote | None = None,
    own: Mapping[str, str] = NO_CHANGES,
) -> ToldWorth:
    """Weigh repairing against a new machine; ``typed`` are the fields that somebody filled.

    The bill is that of the quote where there is one, else that of the plan. ``own`` says of
    which assumptions the shop has a word of its own in the pack, and whose.

    Raises
    ------
    WorthError
        When the job's machine is not known, or what was typed is no number of its kind.
    """
    if view.known is None or view.source is None:
        msg = "name the machine first: without it nothing is known of its life and its price"
        raise WorthError(msg)
    found, notes = _found(view, view.known.pack, plan)
    if quoted is not None:
        found["bill"] = _bill(quoted)
    for name, words in own.items():
        value, _, known = found[name]
        found[name] = (value, words, known)
    assumed = tuple(_assumed(name, found[name], typed.get(name, "")) for name in SPECS)
    values = {one.name: one.value for one in assumed}
    household = Household(**{name: values[name] for name in NAMES})
    ranges = {one.name: (one.low, one.high) for one in assumed if one.high > one.low}
    case = household.case
    return ToldWorth(
        assumed, household, verdict(case), tuple(swings(household, ranges)), course(case), notes
    )


Found = tuple[float, str, tuple[float, float] | None]
"""A value, where it is from, and its range where that is known better than by a share."""


def _found(
    view: JobView, pack: Pack, plan: ToldPlan | None
) -> tuple[dict[str, Found], tuple[str, ...]]:
    """Every assumption before anybody changed it, and what is to be said of them."""
    costs, use = pack.costs, USES.get(pack.family, USES["front_load"])
    notes = [] if pack.family in USES else [AS_FRONT_LOADER]
    found: dict[str, Found] = {name: (*known, None) for name, known in PLAIN.items()}
    found |= {
        name: (*getattr(use, name), None)
        for name in ("cycles", "old_kwh", "new_kwh", "old_litres", "new_litres")
    }
    life = "the pack of this family; derived from published means, not measured"
    found["shape"] = (costs.life_shape, life, None)
    found["scale_years"] = (costs.life_scale_years, life, None)
    found["price"] = (costs.replacement, f"the pack of this family; {PRACTICE}", None)
    found["disposal"] = (costs.disposal, f"the pack of this family; {PRACTICE}", None)
    found |= _repair(plan, costs.replacement)
    age = view.source.job.age_years if view.source is not None else None
    if age is None:
        notes.append("Nobody told the age of the machine: ask for it, it weighs much.")
    found["age"] = (
        (AGE_UNKNOWN, f"not told; {PRACTICE}", None) if age is None else (age, "told", None)
    )
    return found, tuple(notes)


def _repair(plan: ToldPlan | None, replacement: float) -> dict[str, Found]:
    """The bill and its chance, from the plan where it means to repair."""
    ends = 1.0 if plan is None else given_up(plan.tree)
    if plan is None or ends > HALF:
        why = "there is no plan" if plan is None else "the plan gives the repair up"
        words = f"{why}: half the price of a new one stands here until you put in your own"
        return {
            "bill": (HALF * replacement, words, None),
            "success": (DONE_WELL, PRACTICE, None),
        }
    chance = f"the plan, of which {100 * ends:.0f} % ends without repair; the rest holds in 95 %"
    return {
        "bill": (plan.expected, "the plan, cost to both sides", (plan.low, plan.high)),
        "success": (DONE_WELL * (1.0 - ends), f"{chance} ({PRACTICE})", None),
    }


def _bill(quoted: OpenQuote) -> Found:
    """The bill that was quoted; a fixed price has no range."""
    words = f"the quote of {quoted.dated}, what the customer pays with tax"
    return quoted.expected, words, (quoted.low, quoted.high)


def given_up(tree: ToldBranch) -> float:
    """The share of a plan's ends that is without repair, as far as its tree is shown."""
    if tree.do == WITHOUT_REPAIR:
        return tree.chance
    return min(sum(given_up(one) for one in tree.branches), 1.0)


def _assumed(name: str, found: Found, typed: str) -> Assumed:
    spec, (value, source, known) = SPECS[name], found
    own = bool(typed) and typed != f"{value * spec.shown:.6g}"
    if own:
        value, source, known = _number(spec, typed) / spec.shown, "your own", None
    spread = spec.by if spec.absolute else spec.by * value
    low, high = known if known is not None else (value - spread, value + spread)
    least, most = spec.least / spec.shown, spec.most / spec.shown
    return Assumed(name, spec, value, max(low, least), min(high, most), source, own)


def _number(spec: Spec, typed: str) -> float:
    try:
        value = float(typed.replace(",", "."))
    except ValueError:
        value = math.nan
    if not spec.least <= value <= spec.most:
        bounds = f"{spec.least:g} to {spec.most:g}"
        msg = f"'{typed[:40]}' is no number for “{spec.title}”; write one from {bounds}"
        raise WorthError(msg)
    return value
