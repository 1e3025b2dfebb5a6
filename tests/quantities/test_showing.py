"""Tests of quantities on pages, and that reading undoes showing."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import QuantityError
from tubside.quantities.reading import read_quantity
from tubside.quantities.showing import fitting_unit, show_quantity, significant
from tubside.quantities.units import DIFFERENCE, KINDS, plain

SHOWN = [
    (si, shown)
    for si, kind in KINDS.items()
    for shown in sorted({unit.shown for unit in kind.units.values()})
]


@given(
    st.sampled_from(SHOWN),
    st.floats(1e-6, 1e6),
    st.integers(1, 8),
)
def test_reading_undoes_showing(pair: tuple[str, str], number: float, digits: int) -> None:
    """Tests that read(show(x)) is x within half the last digit shown, for every unit."""
    si, shown = pair
    unit = KINDS[si].units[plain(shown)]
    value = unit.to_si(number)
    again = read_quantity(show_quantity(value, shown, digits), si)
    half_digit = 0.5 * 10.0 ** (1 - digits) * (1.0 + 1e-6)
    assert unit.from_si(again) == pytest.approx(number, rel=half_digit, abs=1e-9)


@given(st.floats(-1e9, 1e9), st.integers(1, 12))
def test_significant_digits(number: float, digits: int) -> None:
    """Tests that so many digits are right, and that there is never an exponent."""
    text = significant(number, digits)
    assert "e" not in text
    assert float(text) == pytest.approx(number, rel=0.5 * 10.0 ** (1 - digits) * 1.0000001)


@given(st.floats(1e-6, 100.0) | st.floats(-100.0, -1e-6))
def test_a_difference_is_shown_without_zero_point(kelvin: float) -> None:
    """Tests that differences of temperature come back as differences."""
    text = show_quantity(kelvin, "°F", 9, delta=True)
    assert read_quantity(text, "K", delta=True) == pytest.approx(kelvin, rel=1e-8, abs=1e-12)


@pytest.mark.parametrize(
    ("value", "unit", "digits", "text"),
    [
        (1.0e-4, "gpm", 3, "1.59 gpm"),
        (0.0, "V", 3, "0 V"),
        (9.96, "V", 2, "10 V"),
        (120e3, "kΩ", 2, "120 kΩ"),
        (1.6e-5, "µF", 2, "16 µF"),
        (0.8, "%", 2, "80 %"),
        (0.8, "1", 2, "0.80"),
        (2.0, "F", 1, "2 F"),
        (300.0, "K", 3, "300 K"),
        (201.168, "furlong", 2, "1.0 furlong"),
    ],
)
def test_shown(value: float, unit: str, digits: int, text: str) -> None:
    """Tests values as pages show them."""
    assert show_quantity(value, unit, digits) == text


@pytest.mark.parametrize(("value", "unit"), [(1.0, "blurb"), (float("nan"), "V")])
def test_what_cannot_be_shown(value: float, unit: str) -> None:
    """Tests that an unknown unit and no number are refused."""
    with pytest.raises(QuantityError):
        show_quantity(value, unit, 3)


def test_fitting_unit() -> None:
    """Tests that the unit suits the size, and that a kind without a choice keeps its own."""
    assert [fitting_unit(v, "ohm") for v in (0.02, 0.4, 47.0, 3e3, 2e6, 0.0)] == [
        "mΩ",
        "Ω",
        "Ω",
        "kΩ",
        "MΩ",
        "Ω",
    ]
    assert fitting_unit(3.0, "N*m") == "N*m"
    assert fitting_unit(300.0, "K") == "°C"


def test_differences_know_the_same_units() -> None:
    """Tests that every temperature unit can also be a difference."""
    assert set(KINDS["K"].units) <= set(DIFFERENCE.units)
