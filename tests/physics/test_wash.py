"""Tests of hardness, dose, bulk and torque."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics import wash
from tubside.quantities.units import KINDS

LOADS = st.floats(0.1, 12.0)


@given(st.sampled_from(sorted(wash.HARDNESS_SCALES)), st.floats(0.0, 500.0))
def test_scales_and_back(scale: str, value: float) -> None:
    """Tests that a value comes back from the amount, and that quantities read the same scale."""
    amount = wash.hardness_of(value, scale)
    assert float(wash.hardness_on(scale, amount)) == pytest.approx(value)
    table = KINDS["mol/m**3"]
    unit = table.find(scale.removesuffix(" CaCO3"))
    assert unit is not None
    assert unit.factor == pytest.approx(wash.HARDNESS_SCALES[scale])


def test_bands() -> None:
    """Tests that both schemes of bands put their printed ends where the next band begins.

    0-7, 7-14, 14-21, over 21 °dH = 1.3, 2.5, 3.8 mmol/L; 0-8.4, 8.4-14, over 14 °dH:
    instruction booklets, both read.
    """
    assert wash.hardness_band(np.array([1.0, 1.3, 2.5, 3.8])).tolist() == [0, 1, 2, 3]
    degrees = wash.hardness_of(np.array([8.3, 8.4, 13.9, 14.0]), "°dH")
    assert wash.hardness_band(degrees, "three bands").tolist() == [0, 1, 1, 2]


@given(LOADS, st.floats(0.0, 5.0), st.floats(0.0, 5.0))
def test_dose_grows_with_load_and_hardness(load: float, hardness: float, harder: float) -> None:
    """Tests that neither more load nor harder water asks for less."""
    dose = wash.right_dose(load, hardness)
    assert wash.right_dose(load, hardness + harder) >= dose
    assert wash.right_dose(load + 1.0, hardness) > dose


def test_dose_is_the_base_dose_at_the_hardness_doses_are_stated_for() -> None:
    """Tests the regulation's basis: 2.5 mol/m3 changes nothing (648/2004, Annex VII B)."""
    assert float(wash.right_dose(wash.STANDARD_LOAD, wash.STANDARD_HARDNESS)) == pytest.approx(
        float(wash.base_dose(wash.STANDARD_LOAD))
    )


@given(LOADS, st.floats(0.0, 0.5), st.floats(0.0, 0.2))
def test_more_water_carries_more_of_the_load(load: float, level: float, more: float) -> None:
    """Tests that a higher level never makes the load rest heavier on the agitator."""
    height = wash.soaked_height(load, 0.2)
    low, high = (wash.covered_share(x, height) for x in (level, level + more))
    assert 0.0 <= low <= high <= 1.0
    assert wash.resting_weight(load, high) <= wash.resting_weight(load, low)


def test_fibre_under_water_weighs_what_archimedes_leaves() -> None:
    """Tests the limit of a load all under water against fibre volume and water density."""
    pushed_aside = 4.0 / wash.COTTON * wash.WATER
    assert float(wash.resting_weight(4.0, 1.0)) == pytest.approx((4.0 - pushed_aside) * 9.80665)


def test_nothing_in_the_basket_is_covered() -> None:
    """Tests that an empty basket counts as covered, for arrays of levels too."""
    assert wash.covered_share(np.array([0.0, 0.1]), 0.0).tolist() == [1.0, 1.0]


@given(st.floats(1.0, 300.0), st.floats(0.05, 0.3))
def test_agitation_torque_is_the_integral_over_the_disc(weight: float, radius: float) -> None:
    """Tests two thirds mu W R against rings of even pressure summed up."""
    rings = (np.arange(2000) + 0.5) * radius / 2000
    pressure = weight / (np.pi * radius**2)
    summed = np.sum(0.5 * pressure * 2.0 * np.pi * rings**2) * radius / 2000
    assert float(wash.agitation_torque(weight, radius)) == pytest.approx(summed, rel=1e-6)


@given(st.floats(0.0, 50.0), st.floats(0.1, 50.0))
def test_margin(there: float, needed: float) -> None:
    """Tests that the margin is 1 where torque just suffices, above it where there is more."""
    margin = float(wash.torque_margin(there, needed))
    assert margin * needed == pytest.approx(there)
    assert float(wash.torque_margin(there, 0.0)) == np.inf


@given(st.lists(st.floats(0.01, 100.0), min_size=4, max_size=5))
def test_factors_of_washing_sum_to_one(factors: list[float]) -> None:
    """Tests that four factors, or five with water, share the whole (Sinner 1959/1960)."""
    shares = wash.factor_shares(np.array(factors))
    assert float(shares.sum()) == pytest.approx(1.0)
    assert float(wash.factor_shares(2.0 * np.array(factors))[0]) == pytest.approx(shares[0])


def test_load_share_and_lever() -> None:
    """Tests a drum's filling and the lever of a load at the height of the axis."""
    assert float(wash.load_share(9.0, 0.06)) == pytest.approx(1.5)
    assert float(wash.tumbling_torque(10.0, 0.25, 1.0)) == pytest.approx(10 * 9.80665 * 0.25)


@pytest.mark.parametrize("hardness", [-0.1, 11.0])
def test_no_dose_for_water_outside_the_labels(hardness: float) -> None:
    """Tests that water softer than none or harder than the labels know is an error."""
    with pytest.raises(OutsideRangeError, match="hardness"):
        wash.right_dose(4.5, hardness)
