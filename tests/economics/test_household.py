"""Assumptions one by one: their bars, and the value at which the answer turns."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.economics.household import Household, gap, swings
from tubside.economics.worth import verdict
from tubside.errors import OutsideRangeError

MACHINE = Household(
    bill=250,
    success=0.9,
    age=8,
    shape=2.3,
    scale_years=14.3,
    price=800,
    disposal=40,
    cycles=170,
    old_kwh=0.95,
    new_kwh=0.45,
    old_litres=60,
    new_litres=50,
    energy_price=0.30,
    water_price=4.0,
    faults_old=0.12,
    faults_new=0.06,
    fault_bill=160,
    rate=0.05,
)


def test_yearly_sums_by_hand() -> None:
    """Tests energy and water of a year against the same sum done by hand."""
    case = MACHINE.case
    assert case.running_old == pytest.approx(170 * (0.95 * 0.30 + 0.060 * 4.0))
    assert case.running_new == pytest.approx(170 * (0.45 * 0.30 + 0.050 * 4.0))
    assert case.price == 840


def test_the_bill_turns_at_the_break_even() -> None:
    """Tests that halving finds the break-even that the formula gives."""
    told = verdict(MACHINE.case)
    (bill,) = swings(MACHINE, {"bill": (1.0, 2000.0)})
    assert bill.turns_at == pytest.approx(told.break_even, rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from(["age", "price", "energy_price", "success", "scale_years", "cycles"]),
    st.floats(100.0, 500.0),
)
def test_the_answer_turns_where_it_is_said_to(name: str, bill: float) -> None:
    """Tests that the gap is nought at a crossing, and one side of nought where there is none."""
    told = MACHINE.with_one("bill", bill)
    value = getattr(told, name)
    low, high = 0.5 * value, min(1.5 * value, 1.0) if name == "success" else 1.5 * value
    (one,) = swings(told, {name: (low, high)})
    if one.turns_at is None:
        assert (one.bar.at_low < 0.0) == (one.bar.at_high < 0.0)
    else:
        assert low <= one.turns_at <= high
        assert gap(told.with_one(name, one.turns_at)) == pytest.approx(0.0, abs=1e-6)


def test_what_cannot_be_is_refused() -> None:
    """Tests that a wash of a thousand kilowatt hours is refused."""
    with pytest.raises(OutsideRangeError):
        _ = MACHINE.with_one("old_kwh", 1000.0).case
