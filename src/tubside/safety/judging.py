"""From a reading and its uncertainty to pass, fail or not proven."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from typing import Literal

from tubside.errors import SafetyError
from tubside.safety.limits import Held
from tubside.safety.profile_schema import Rcd

Outcome = Literal["pass", "fail", "not-proven"]
OUTCOME_WORDS: dict[Outcome, str] = {
    "pass": "pass",
    "fail": "fail",
    "not-proven": "not proven",
}


@dataclass(frozen=True, slots=True)
class Instrument:
    """What was measured with; ``due`` is the last day on which its calibration holds."""

    name: str
    calibrated: date
    due: date

    def __post_init__(self) -> None:
        if self.due < self.calibrated:
            msg = "the calibration is due before it was done; look at the two dates"
            raise SafetyError(msg)

    def holds_on(self, day: date) -> bool:
        """Whether its calibration holds on a day."""
        return self.calibrated <= day <= self.due


@dataclass(frozen=True, slots=True)
class Measured:
    """A reading: value and expanded uncertainty (k = 2) in the unit of its limit.

    ``over_range``: the instrument showed more than it can tell, "> 200" and the like.
    """

    value: float
    uncertainty: float
    instrument: Instrument
    over_range: bool = False

    def __post_init__(self) -> None:
        if not (math.isfinite(self.value) and self.value >= 0.0):
            msg = "a reading of the safety test is a number from 0 up"
            raise SafetyError(msg)
        if not (math.isfinite(self.uncertainty) and self.uncertainty > 0.0):
            msg = "no instrument is without uncertainty; write what its data sheet says"
            raise SafetyError(msg)

    def least(self) -> float:
        """The least that the true value may be."""
        return self.value if self.over_range else self.value - self.uncertainty

    def most(self) -> float:
        """The most that the true value may be."""
        return math.inf if self.over_range else self.value + self.uncertainty


@dataclass(frozen=True, slots=True)
class Verdict:
    """What follows from one test, and why."""

    outcome: Outcome
    why: str


def judge(measured: Measured, held: Held | None, day: date) -> Verdict:
    """Hold a reading against its limit on a day.

    Pass or fail is said only where the whole of value +- U lies on one side: the rule of a
    guard band as wide as U (JCGM 106:2012, 8.3, from memory). All else is not proven: an
    instrument out of calibration, no limit, or a limit that nobody confirmed.

    Examples
    --------
    >>> from tubside.safety.appliance import Appliance
    >>> from tubside.safety.limits import limit_for, Confirmed
    >>> from tubside.safety.profiles import load_profile
    >>> machine = Appliance("I", 2.0, 3.0, 1.0)
    >>> own = {"conductor": Confirmed("our copy")}
    >>> held = limit_for(load_profile("GB").profile, "conductor", machine, own)
    >>> meter = Instrument("bench tester", date(2026, 1, 5), date(2027, 1, 5))
    >>> [judge(Measured(r, 0.01, meter), held, date(2026, 6, 1)).outcome
    ...  for r in (0.12, 0.155, 0.2)]
    ['pass', 'not-proven', 'fail']
    """
    if not measured.instrument.holds_on(day):
        return Verdict("not-proven", "the calibration of the instrument does not hold on this day")
    if held is None:
        return Verdict("not-proven", "no limit is known for it in this country")
    if not held.decides:
        return Verdict("not-proven", "the shop has not confirmed this limit yet")
    at_least = held.limit.side == "at-least"
    good = measured.least() >= held.value if at_least else measured.most() <= held.value
    bad = measured.most() < held.value if at_least else measured.least() > held.value
    if good:
        return Verdict("pass", "the whole of reading and uncertainty keeps the limit")
    if bad:
        return Verdict("fail", "the whole of reading and uncertainty breaks the limit")
    return Verdict("not-proven", "too close to the limit for this instrument")


def rcd_verdict(
    rule: Rcd,
    *,
    at_rated_ms: float | None,
    at_five_ms: float | None = None,
    tripped_at_half: bool | None = None,
) -> Verdict:
    """Hold the trip times [ms] of a residual-current device against a country's rule.

    None stands for a test that was not made; infinity for a device that did not trip.

    Examples
    --------
    >>> from tubside.safety.profiles import load_profile
    >>> rule = load_profile("NZ").profile.rcd
    >>> rcd_verdict(rule, at_rated_ms=34, at_five_ms=20, tripped_at_half=False).outcome
    'pass'
    >>> rcd_verdict(rule, at_rated_ms=310).why
    'it needs 310 ms at its rated current, more than 300 ms'
    """
    if at_rated_ms is not None and at_rated_ms > rule.at_rated_ms:
        why = f"it needs {at_rated_ms:g} ms at its rated current, more than {rule.at_rated_ms:g} ms"
        return Verdict("fail", why)
    if rule.at_five_ms is not None and at_five_ms is not None and at_five_ms > rule.at_five_ms:
        why = f"it needs {at_five_ms:g} ms at five times it, more than {rule.at_five_ms:g} ms"
        return Verdict("fail", why)
    if rule.holds_at is not None and tripped_at_half:
        return Verdict("fail", f"it trips at {rule.holds_at:g} of its rated current")
    missing = [
        words
        for words, there in (
            ("its rated current", at_rated_ms is not None),
            ("five times it", rule.at_five_ms is None or at_five_ms is not None),
            ("the current at which it holds", rule.holds_at is None or tripped_at_half is not None),
        )
        if not there
    ]
    if missing:
        return Verdict("not-proven", f"not tested at {', '.join(missing)}")
    return Verdict("pass", "it trips in time, and holds where it must")
