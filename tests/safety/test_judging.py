"""Tests of verdicts: what is proven, what is not, and what decides nothing."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import SafetyError
from tubside.safety.appliance import Appliance
from tubside.safety.judging import Instrument, Measured, judge, rcd_verdict
from tubside.safety.limits import Confirmed, Held, limit_for
from tubside.safety.profile_schema import Test
from tubside.safety.profiles import load_profile

DAY = date(2026, 6, 1)
METER = Instrument("bench tester", date(2026, 1, 5), date(2027, 1, 5))
WASHER = Appliance("I", 2.0, 1.5, 1.0)


def held(country: str, test: Test, own: Confirmed | None = None) -> Held:
    """The limit of a country, confirmed by the shop."""
    profile = load_profile(country).profile
    plain = limit_for(profile, test, WASHER)
    assert plain is not None
    found = limit_for(profile, test, WASHER, {plain.id: own or Confirmed("our copy")})
    assert found is not None
    return found


def test_unconfirmed_limits_decide_nothing() -> None:
    """Tests that even a hopeless reading stays unproven until the shop confirms the limit."""
    plain = limit_for(load_profile("NZ").profile, "conductor", WASHER)
    assert plain is not None
    assert not plain.decides
    for value in (0.01, 900.0):
        assert judge(Measured(value, 0.001, METER), plain, DAY).outcome == "not-proven"
    assert judge(Measured(900.0, 1.0, METER), held("NZ", "conductor"), DAY).outcome == "fail"


def test_own_value_stands_in() -> None:
    """Tests that a value of the shop's own replaces ours, and is said to be its own."""
    own = held("NZ", "conductor", Confirmed("our copy, page 9", 0.5))
    assert (own.value, own.how) == (0.5, "the shop's own value")
    assert judge(Measured(0.7, 0.01, METER), own, DAY).outcome == "fail"


def test_calibration_out_of_date() -> None:
    """Tests that an instrument out of date, or not calibrated yet, proves nothing."""
    late, early = date(2027, 1, 6), date(2026, 1, 4)
    reading, limit = Measured(0.1, 0.01, METER), held("NZ", "conductor")
    assert judge(reading, limit, METER.due).outcome == "pass"
    assert {judge(reading, limit, day).outcome for day in (late, early)} == {"not-proven"}


def test_over_range() -> None:
    """Tests that "> 200" proves insulation, and never proves a current small."""
    over = Measured(200.0, 10.0, METER, over_range=True)
    assert judge(over, held("NZ", "insulation"), DAY).outcome == "pass"
    assert judge(over, held("NZ", "protective-current"), DAY).outcome == "fail"
    small = Measured(0.5, 0.1, METER, over_range=True)
    assert judge(small, held("NZ", "protective-current"), DAY).outcome == "not-proven"


@given(st.floats(0.0, 3.0), st.floats(0.001, 0.5), st.sampled_from(["conductor", "insulation"]))
def test_verdict_is_never_wrong_within_its_doubt(value: float, doubt: float, test: Test) -> None:
    """Tests that pass and fail hold for every true value within the uncertainty."""
    limit = held("NZ", test)
    outcome = judge(Measured(value, doubt, METER), limit, DAY).outcome
    ends = [value - doubt, value, value + doubt]
    keeps = [e >= limit.value if test == "insulation" else e <= limit.value for e in ends]
    assert outcome == {3: "pass", 0: "fail"}.get(sum(keeps), "not-proven")


def test_refused_readings() -> None:
    """Tests that no reading is negative and none is without uncertainty."""
    for value, doubt in ((-1.0, 0.1), (1.0, 0.0), (float("nan"), 0.1), (1.0, float("inf"))):
        with pytest.raises(SafetyError):
            Measured(value, doubt, METER)


def test_untested_device_is_not_proven() -> None:
    """Tests that a residual-current device tested in part is not proven, and is told which part."""
    rule = load_profile("NZ").profile.rcd
    assert rule is not None
    found = rcd_verdict(rule, at_rated_ms=100.0)
    assert found.outcome == "not-proven"
    assert "five times" in found.why
    assert rcd_verdict(rule, at_rated_ms=float("inf")).outcome == "fail"
