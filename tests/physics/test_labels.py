"""Tests of regulation figures."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import OutsideRangeError
from tubside.physics import labels

CAPACITIES = st.floats(1.0, 16.0)


@given(CAPACITIES, st.floats(0.0, 0.9))
def test_standard_energy_grows_with_capacity(capacity: float, more: float) -> None:
    """Tests that a larger machine may use no less, over the whole range."""
    larger = min(capacity + more, 16.0)
    assert labels.standard_energy(larger) >= labels.standard_energy(capacity)


@given(CAPACITIES)
def test_weights_sum_to_one(capacity: float) -> None:
    """Tests that the weights of the three loads are the whole."""
    assert float(labels.load_weights(capacity).sum()) == pytest.approx(1.0)


@given(CAPACITIES, st.floats(0.1, 3.0))
def test_index_of_the_standard_machine_is_one_hundred(capacity: float, times: float) -> None:
    """Tests that the index is in proportion to the energy and 100 at the standard one."""
    standard = labels.standard_energy(capacity)
    index = float(labels.energy_index(times * standard, capacity))
    assert index == pytest.approx(100.0 * times, abs=0.051)


def test_equal_loads_weigh_nothing_in() -> None:
    """Tests that a machine that uses the same for every load uses that on average."""
    assert float(labels.weighted_energy(2.0e6, 2.0e6, 2.0e6, 8.0)) == pytest.approx(2.0e6, rel=1e-3)


@given(st.floats(0.1, 20.0), st.floats(0.0, 2.0))
def test_moisture(dry: float, left: float) -> None:
    """Tests that moisture is what was left, and that laundry dries no further than dry."""
    assert float(labels.moisture(dry * (1.0 + left), dry)) == pytest.approx(left, abs=1e-12)
    with pytest.raises(OutsideRangeError, match="remaining moisture"):
        labels.moisture(0.9 * dry, dry)


def test_classes_change_at_their_ends() -> None:
    """Tests each end of the classes: it belongs to the worse class."""
    ends = np.array(labels.MOISTURE_ENDS)
    assert "".join(labels.moisture_class(ends - 1e-9)) == "ABCDEF"
    assert "".join(labels.moisture_class(ends)) == "BCDEFG"
