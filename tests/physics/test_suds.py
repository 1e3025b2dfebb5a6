"""Tests of suds: stress, torque, collapse."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics import suds

RATES = st.floats(0.1, 3000.0)


@given(RATES)
def test_viscous_stress_goes_with_the_root_of_the_shear_rate(rate: float) -> None:
    """Tests that four times the rate takes twice the stress above the yield stress.

    S. Tcholakova et al., Phys. Rev. E 78, 2008 (abstract read): stress goes with Ca^(1/2).
    """
    at_rest = suds.suds_stress(0.0)
    more = float(suds.suds_stress(rate) - at_rest)
    assert float(suds.suds_stress(4.0 * rate) - at_rest) == pytest.approx(2.0 * more, rel=1e-9)


def test_stress_by_hand() -> None:
    """Tests one value worked out by hand: f 0.9, Ca 1e-4, 100 um, 30 mN/m.

    300 Pa (0.5 0.26^2 + 1.16 (0.9159 0.8326 / 0.3162) 0.01) = 10.14 + 8.39 Pa.
    """
    rate = 1e-4 * 0.03 / (1e-3 * 1e-4)
    assert float(suds.suds_stress(0.0, gas=0.9)) == pytest.approx(10.14, abs=0.01)
    assert float(suds.suds_stress(rate, gas=0.9)) == pytest.approx(18.53, abs=0.02)


@given(RATES, st.floats(0.80, 0.97), st.floats(0.0, 0.01), st.floats(2e-5, 5e-4))
def test_dry_and_fine_suds_drag_more(rate: float, gas: float, drier: float, bubble: float) -> None:
    """Tests that stress grows with the share of gas and falls with the size of the bubbles."""
    stress = suds.suds_stress(rate, bubble, gas)
    assert suds.suds_stress(rate, bubble, gas + drier) >= stress
    assert suds.suds_stress(rate, 2.0 * bubble, gas) < stress


@given(st.floats(0.0, 100.0), st.floats(0.0, 0.4), st.floats(0.5, 2.0))
def test_torque_is_in_proportion_to_height(speed: float, height: float, times: float) -> None:
    """Tests that torque is proportional to the height of the suds and never negative."""
    torque = float(suds.suds_torque(speed, 0.25, height))
    assert torque >= 0.0
    assert float(suds.suds_torque(speed, 0.25, times * height)) == pytest.approx(times * torque)


def test_narrow_gap_drags_more() -> None:
    """Tests that the same suds in a narrower gap take more torque, and none at rest."""
    gaps = np.array([0.005, 0.015, 0.045])
    assert (np.diff(suds.suds_torque(60.0, 0.25, 0.3, gaps)) < 0.0).all()
    assert float(suds.suds_torque(0.0, 0.25, 0.3)) == 0.0


@given(st.floats(0.0, 3600.0), st.floats(0.0, 3600.0))
def test_waiting_twice_is_waiting_longer(first: float, second: float) -> None:
    """Tests that what is left after two waits is what is left after their sum."""
    twice = float(suds.suds_left(first) * suds.suds_left(second))
    assert float(suds.suds_left(first + second)) == pytest.approx(twice, rel=1e-9)


@given(st.floats(0.0, 10.0), st.floats(0.0, 10.0))
def test_more_detergent_never_means_less_suds(dose: float, more: float) -> None:
    """Tests that the share of suds grows with the dose, from none up to full."""
    assert 0.0 <= suds.suds_share(dose) <= suds.suds_share(dose + more) < 1.0
    assert float(suds.suds_share(min(dose, 1.0))) == 0.0


def test_wet_foam_is_outside() -> None:
    """Tests that suds of so much water that they are a bubbly liquid are an error."""
    with pytest.raises(OutsideRangeError, match="share of gas"):
        suds.suds_stress(100.0, gas=0.6)
