"""Tests of insulation and leakage."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics.electrics.insulation import earth_leakage, insulation_leakage, together

OHMS = st.floats(1e4, 1e9)


@given(OHMS, st.floats(0.0, 1e-7))
def test_leakage_is_the_current_of_the_two_side_by_side(ohms: float, farads: float) -> None:
    """Tests against the complex admittance, and that capacitance only adds."""
    complex_current = 230.0 * (1.0 / ohms + 2j * np.pi * 50.0 * farads)
    leak = float(earth_leakage(ohms, farads, 230.0, 50.0))
    assert leak == pytest.approx(abs(complex_current))
    assert leak >= float(insulation_leakage(ohms, 230.0)) * (1 - 1e-12)


@given(OHMS, OHMS)
def test_two_parts_leak_what_each_leaks(first: float, second: float) -> None:
    """Tests that currents add and that the whole is never better than its worst part."""
    both = float(together(first, second))
    sum_of = insulation_leakage(first, 230.0) + insulation_leakage(second, 230.0)
    assert float(insulation_leakage(both, 230.0)) == pytest.approx(float(sum_of))
    assert both <= min(first, second)


def test_a_dead_short_is_no_insulation() -> None:
    """Tests that no resistance at all is outside the formula."""
    with pytest.raises(OutsideRangeError, match="insulation"):
        insulation_leakage(0.0, 230.0)
