"""The rest of a life against scipy, and the age to replace against search."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from tubside.economics.lifetime import Life, best_age_to_replace

LIVES = st.builds(Life, st.floats(0.8, 5.0), st.floats(4.0, 30.0))


@settings(max_examples=30)
@given(life=LIVES, age=st.floats(0.0, 20.0))
def test_rest_is_the_mean_of_the_truncated_life(life: Life, age: float) -> None:
    """Tests mean rest of life and survival against scipy's Weibull."""
    whole = stats.weibull_min(life.shape, scale=life.scale_years)
    assert float(life.survival(3.0, age)) == pytest.approx(
        whole.sf(age + 3.0) / whole.sf(age), rel=1e-9
    )
    assert life.rest() == pytest.approx(whole.mean(), rel=2e-4)


@settings(max_examples=20)
@given(scale=st.floats(2.0, 30.0), age=st.floats(0.0, 30.0), rate=st.floats(0.001, 0.3))
def test_a_life_without_ageing_has_a_closed_form(scale: float, age: float, rate: float) -> None:
    """Tests the annuity of an exponential life: 1 / (1/eta + ln(1 + i)), whatever the age."""
    closed = 1.0 / (1.0 / scale + np.log1p(rate))
    assert Life(1.0, scale).annuity(age, rate) == pytest.approx(closed, rel=2e-4)


@given(life=LIVES, ages=st.tuples(st.floats(0.0, 20.0), st.floats(0.0, 20.0)))
def test_what_wears_has_less_left_with_age(life: Life, ages: tuple[float, float]) -> None:
    """Tests that the rest of life falls with age where the shape is above 1, else grows."""
    young, old = sorted(ages)
    falls = life.rest(young) - life.rest(old)
    slack = 1e-3 * life.scale_years
    assert falls >= -slack if life.shape >= 1.0 else falls <= slack


def test_no_age_is_best_for_what_does_not_wear() -> None:
    """Tests that a part that fails by chance alone is best left until it fails."""
    life = Life(1.0, 10.0)
    age, cost = best_age_to_replace(life, 1.0, 5.0)
    assert age > 10 * life.scale_years
    assert cost == pytest.approx(5.0 / 10.0, rel=1e-3)


def test_the_share_gone_comes_back() -> None:
    """Tests that the age by which a share is gone leaves the others."""
    life = Life(2.3, 14.3)
    for share in (0.01, 0.1, 0.5, 0.99):
        assert 1.0 - float(life.survival(life.gone_by(share))) == pytest.approx(share)
