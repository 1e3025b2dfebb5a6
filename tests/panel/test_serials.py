"""Serial numbers are compared run by run, and only where that says something."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.panel.serials import compared, runs, within

pieces = st.tuples(
    st.text("ABCxyz", min_size=1, max_size=3),
    st.integers(0, 10**6),
    st.sampled_from(["", "-", " ", "/"]),
)
alike = pieces.map(lambda it: f"{it[0]}{it[2]}{it[1]:0{3}}")


@pytest.mark.parametrize(
    ("one", "other", "order"),
    [
        ("99", "100", -1),
        ("A 0099", "a-100", -1),
        ("2301-7", "2301 0007", 0),
        ("B1", "A9", 1),
        ("É7", "é07", 0),
        ("A7", "77", None),
        ("A7", "A7B", None),
        ("7", "", None),
        ("-", "7", None),
        ("A7", "A8B", -1),
    ],
)
def test_compared(one: str, other: str, order: int | None) -> None:
    """Tests digits as numbers, letters by the alphabet, and what cannot be compared."""
    assert compared(one, other) == order
    assert compared(other, one) == (None if order is None else -order)


@given(alike, alike, alike)
def test_an_order(one: str, two: str, three: str) -> None:
    """Tests that serial numbers of one pattern stand in one order."""
    orders = [compared(one, two), compared(two, three), compared(one, three)]
    assert None not in orders
    if orders[0] == orders[1]:
        assert orders[2] == orders[0]
    assert (compared(one, two) == 0) == (runs(one) == runs(two))


def test_within_says_no_by_one_end() -> None:
    """Tests that one end outside is enough, and one that cannot be compared is not."""
    assert within("A5", "A10", "77") is False
    assert within("A50", "A10", "77") is None
    assert within("A50", None, None) is True
    assert within("A10", "A10", "A10") is True
