"""Factors of interest against a general library, and their algebra."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.economics.discounting import (
    Owning,
    capital_recovery,
    equivalent_annual_costs,
    present_of_single,
    present_of_uniform,
)
from tubside.errors import OutsideRangeError

npf = pytest.importorskip("numpy_financial")
RATES = st.floats(1e-6, 0.6)
"""Below a millionth the library loses digits; no interest at all is tested apart."""
YEARS = st.integers(1, 40)


@given(rate=RATES, years=YEARS)
def test_factors_are_those_of_the_library(rate: float, years: int) -> None:
    """Tests P/A, P/F and A/P against numpy-financial."""
    assert present_of_uniform(rate, years) == pytest.approx(-npf.pv(rate, years, 1.0), rel=1e-8)
    assert present_of_single(rate, years) == pytest.approx(-npf.pv(rate, years, 0, 1.0), rel=1e-8)
    assert capital_recovery(rate, years) == pytest.approx(-npf.pmt(rate, years, 1.0), rel=1e-8)


@given(
    rate=RATES, costs=st.lists(st.floats(0, 1e4), min_size=1, max_size=12), price=st.floats(0, 1e5)
)
def test_the_yearly_cost_is_worth_what_is_spent(
    rate: float, costs: list[float], price: float
) -> None:
    """Tests that paying the equal yearly cost is worth the same as paying the bills."""
    last = equivalent_annual_costs(Owning(price, costs, [0.0] * len(costs)), rate)[-1]
    spent = npf.npv(rate, [price, *costs])
    assert last * present_of_uniform(rate, len(costs)) == pytest.approx(spent, rel=1e-8, abs=1e-6)


def test_no_interest_counts_years() -> None:
    """Tests the limit of no interest, alone and beside others."""
    assert present_of_uniform(np.array([0.0, 0.1]), 5).tolist() == pytest.approx([5.0, 3.790787])


@pytest.mark.parametrize("rate", [-0.01, 1.5, float("nan")])
def test_a_rate_that_is_none_is_refused(rate: float) -> None:
    """Tests that percent taken for a share, and the like, is an error."""
    with pytest.raises(OutsideRangeError, match="rate of interest"):
        present_of_uniform(rate, 5)
