"""What an instrument shows: densities that sum to one, tails that go with them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.diagnosis.evidence import IS, NONE, OVER, UNDER, Measured
from tubside.diagnosis.instrument import blunder, chance, error, largest
from tubside.pack.fault_model import Reading, Usual

USUAL = Usual(5.0, 1.0)
VALUE = np.array([[4.0]])
FINE = np.zeros((1, 1))


def reading(share: float, plain: float) -> Reading:
    """Return a reading with these errors for both observers."""
    return Reading("q", "m", 1.0, 0.0, (share, share), (plain, plain), np.inf, needs_fault=False)


def shown(of: Reading, value: float, says: int = IS) -> float:
    """P(what was read | a true value of 4)."""
    return float(chance(of, USUAL, VALUE, FINE, Measured(0, value, says, 1))[0, 0])


@pytest.mark.parametrize(("share", "plain"), [(0.0, 0.5), (0.1, 0.1), (0.35, 0.01)])
def test_densities_sum_to_one(share: float, plain: float) -> None:
    """Tests that the number shown has a density, told per unit of the quantity."""
    grid = np.linspace(1e-3, 40.0, 20_001)
    density = np.array([shown(reading(share, plain), x) for x in grid])
    total = float(np.sum((density[1:] + density[:-1]) / 2.0 * np.diff(grid)))
    assert total / USUAL.unit == pytest.approx(1.0, abs=2e-3)


@given(st.floats(0.0, 0.19), st.floats(0.05, 2.0), st.floats(0.5, 9.0))
def test_over_and_under_are_all_there_is(share: float, plain: float, limit: float) -> None:
    """Tests that a number is over a limit or under it, and that over falls as the limit rises."""
    over, under = (shown(reading(share, plain), limit, says) for says in (OVER, UNDER))
    assert over + under == pytest.approx(1.0)
    assert shown(reading(share, plain), limit + 0.5, OVER) <= over


def test_what_never_comes_is_over_every_limit() -> None:
    """Tests infinite and missing values against every way of telling."""
    values = np.array([[np.inf, np.nan]])

    def told(says: int) -> list[float]:
        measured = Measured(0, 3.0, says, 1)
        found = chance(reading(0.1, 0.1), USUAL, values, np.zeros((1, 2)), measured)
        return [float(x) for x in found[0]]

    assert told(OVER) == [1.0, 0.0]
    assert told(UNDER) == [0.0, 0.0]
    assert told(IS) == [0.0, 0.0]
    assert told(NONE) == [0.0, 1.0]


def test_a_blunder_can_be_anything() -> None:
    """Tests that blunders have a density that sums to the share that shows a number at all."""
    grid = np.linspace(-200.0, 400.0, 600_001)
    density = np.array([blunder(USUAL, Measured(0, float(x), IS, 1)) for x in grid[::10]])
    assert float(density.sum() * 10 * (grid[1] - grid[0])) / USUAL.unit == pytest.approx(
        0.9, abs=0.02
    )
    assert blunder(USUAL, Measured(0, 0.0, NONE, 1)) == pytest.approx(0.1)


def test_errors_add_as_squares() -> None:
    """Tests a share of 3 % of 4 and a plain part of 0.16: a 3-4-5 triangle."""
    assert float(error(reading(0.03, 0.16), USUAL, VALUE, 1)[0, 0]) == pytest.approx(0.2)


@given(st.floats(0.0, 0.5), st.floats(0.01, 3.0), st.floats(-3.0, 60.0), st.floats(-5.0, 80.0))
def test_nothing_is_likelier_than_the_largest(
    share: float, plain: float, value: float, read: float
) -> None:
    """Tests the bound for sets that were not kept, over true values and numbers read."""
    measured = Measured(0, read, IS, 1)
    of = reading(share, plain)
    found = chance(of, USUAL, np.array([[value]]), FINE, measured)
    assert float(found[0, 0]) <= largest(of, USUAL, measured) * (1.0 + 1e-9)
