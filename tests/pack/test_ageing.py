"""Tests of the factors on odds by age."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.pack.ageing import LEAST, MOST, age_factors

SHAPE = st.floats(0.1, 8.0)
MIX = st.lists(st.floats(0.001, 1.0), min_size=2, max_size=25)


@given(shape=SHAPE, mix=MIX)
def test_mean_over_the_age_mix_is_one(shape: float, mix: list[float]) -> None:
    """Tests that averaging over the ages at which calls come changes nothing."""
    share = np.array(mix)
    factors = age_factors(np.array([shape]), share)
    assert float((factors @ (share / share.sum()))[0]) == pytest.approx(1.0, abs=1e-12)


@given(shape=SHAPE, mix=MIX)
def test_factors_span_at_most_the_kept_range(shape: float, mix: list[float]) -> None:
    """Tests that no age is more than 100 times likelier than another."""
    factors = age_factors(np.array([shape]), np.array(mix))
    assert factors.min() > 0.0
    assert factors.max() / factors.min() <= MOST / LEAST * (1.0 + 1e-12)


def test_hazard_by_hand() -> None:
    """Tests shape 2: the mean hazard of year t is proportional to 2 t + 1."""
    factors = age_factors(np.array([2.0]), np.array([0.5, 0.25, 0.25]))
    hazard = np.array([1.0, 3.0, 5.0])
    assert factors[0] == pytest.approx(hazard / (0.5 * 1 + 0.25 * 3 + 0.25 * 5), rel=1e-14)


@pytest.mark.parametrize(("shape", "sign"), [(0.5, -1), (1.0, 0), (3.0, 1)])
def test_wear_rises_and_early_faults_fall(shape: float, sign: int) -> None:
    """Tests that shape above 1 rises with age, below 1 falls, and 1 stays."""
    steps = np.diff(age_factors(np.array([shape]), np.full(15, 1.0))[0])
    assert (steps * sign >= -1e-14).all()
    assert float(steps.sum()) * sign > 0.5 or (sign == 0 and np.abs(steps).max() < 1e-14)
