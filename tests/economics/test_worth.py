"""Repair or replace: against chance itself, its own limits, and its break-even."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.economics.worth import Case, course, sensitivity, verdict

CASE = Case(
    bill=180,
    success=0.95,
    age=6,
    shape=2.3,
    scale_years=14.3,
    price=800,
    running_old=110,
    running_new=95,
    faults_old=0.12,
    faults_new=0.06,
    fault_bill=160,
    rate=0.05,
)
CASES = st.builds(
    Case,
    bill=st.floats(0, 900),
    success=st.floats(0.3, 1.0),
    age=st.floats(0, 20),
    shape=st.floats(1.0, 3.5),
    scale_years=st.floats(6, 20),
    price=st.floats(200, 2000),
    running_old=st.floats(20, 200),
    running_new=st.floats(20, 200),
    faults_old=st.floats(0, 0.5),
    faults_new=st.floats(0, 0.5),
    fault_bill=st.floats(50, 300),
    rate=st.floats(0, 0.2),
)


@settings(max_examples=60)
@given(case=CASES)
def test_both_ways_cost_the_same_at_the_break_even(case: Case) -> None:
    """Tests that at the printed price the two yearly costs meet, where they meet at all."""
    told = verdict(case)
    if told.break_even > 1e-6:
        there = verdict(replace(case, bill=told.break_even))
        assert there.repair_per_year == pytest.approx(there.replace_per_year, rel=1e-9)
    assert told.worth_repairing == (case.bill < told.break_even)


@settings(max_examples=40)
@given(case=CASES, more=st.floats(1.0, 500.0))
def test_a_dearer_repair_is_never_worth_more(case: Case, more: float) -> None:
    """Tests that a longer bill or a worse chance never turns the answer to repair."""
    for worse in (replace(case, bill=case.bill + more), replace(case, success=case.success / 2)):
        assert verdict(worse).repair_per_year >= verdict(case).repair_per_year - 1e-9


def test_a_repair_that_cannot_succeed_is_never_worth_it() -> None:
    """Tests the chance of nothing."""
    told = verdict(replace(CASE, success=0.0))
    assert told.repair_per_year == np.inf
    assert told.break_even == 0.0
    assert not told.worth_repairing


def played(case: Case, rng: np.random.Generator, lives: int) -> float:
    """Return the mean yearly cost, worth now over worth now, of repaired machines played out."""
    age_now = (case.age / case.scale_years) ** case.shape
    rest = case.scale_years * (age_now + rng.exponential(size=lives)) ** (1 / case.shape) - case.age
    lived = np.where(rng.random(lives) < case.success, rest, 0.0)
    worth = -np.expm1(-lived * np.log1p(case.rate)) / np.log1p(case.rate)
    running = case.running_old + case.faults_old * case.fault_bill
    return float((case.bill + running * worth.mean()) / worth.mean())


def test_the_yearly_cost_is_that_of_machines_played_out() -> None:
    """Tests the closed form against 200,000 lives drawn by chance: within three errors."""
    cost = played(CASE, np.random.default_rng(7), 200_000)
    assert verdict(CASE).repair_per_year == pytest.approx(cost, rel=0.004)


def test_the_course_of_money_is_that_of_chance() -> None:
    """Tests the renewal equation against machines bought and worn out by chance."""
    rng, years = np.random.default_rng(11), 15
    told = course(CASE, years)
    spent = np.zeros(20_000)
    running = CASE.running_new + CASE.faults_new * CASE.fault_bill
    at = np.zeros_like(spent)
    while (alive := at < years).any():
        rest = CASE.scale_years * rng.exponential(size=spent.size) ** (1 / CASE.shape)
        rate = np.log1p(CASE.rate)
        until = np.minimum(at + rest, years)
        paid = CASE.price * np.exp(-rate * at)
        paid += running * (np.exp(-rate * at) - np.exp(-rate * until)) / rate
        spent += np.where(alive, paid, 0.0)
        at = np.where(alive, at + rest, at)
    assert told.replace[-1] == pytest.approx(spent.mean(), rel=0.015)
    assert told.replace[0] == CASE.price
    assert told.repair[0] == pytest.approx(CASE.bill + (1 - CASE.success) * CASE.price)
    assert (np.diff(told.repair) > 0).all()


def test_the_courses_meet_when_the_new_one_has_paid_for_itself() -> None:
    """Tests that a thirsty old machine is overtaken, and a thrifty one is not."""
    thirsty = course(replace(CASE, running_old=400))
    assert thirsty.meet is not None
    assert 1 < thirsty.meet < 5
    assert course(replace(CASE, running_old=60, faults_old=0.0, bill=50), 8).meet is None


def test_bars_stand_by_how_far_they_move_the_answer() -> None:
    """Tests order, ends and turning of the sensitivity bars."""
    ranges = {"bill": (100.0, 500.0), "rate": (0.03, 0.08), "age": (3.0, 12.0)}
    bars = sensitivity(CASE, ranges)
    widths = [abs(bar.at_high - bar.at_low) for bar in bars]
    assert widths == sorted(widths, reverse=True)
    bill = next(bar for bar in bars if bar.name == "bill")
    assert bill.turns
    assert bill.at_low < 0 < bill.at_high
    with pytest.raises(KeyError):
        sensitivity(CASE, {"colour": (0.0, 1.0)})
