"""Readings of a pack: units, errors and limits in SI."""

from __future__ import annotations

import pytest

from tubside.errors import QuantityError
from tubside.pack.compiling_reading import compiled_reading, in_si, si_of, unit_of
from tubside.pack.reading_schema import Reading

CAUSES = ("tap-shut", "timer")


def reading(unit: str, error: str = "0.1", **more: object) -> Reading:
    """Return a reading with this error for a technician."""
    return Reading(quantity="q", unit=unit, error={"technician": error}, **more)  # type: ignore[arg-type]  # the test names fields


@pytest.mark.parametrize(
    ("unit", "error", "share", "plain"),
    [
        ("L/min", "0.15", 0.15, 0.0),
        ("L/min", "0.3 L/min", 0.0, 0.3e-3 / 60),
        ("mm", "0.05 and 2 mm", 0.05, 0.002),
        ("°C", "0.7 K", 0.0, 0.7),
        ("1", "0.5", 0.0, 0.5),
        ("µF", "0.03", 0.03, 0.0),
    ],
)
def test_errors_are_shares_or_have_a_unit(
    unit: str, error: str, share: float, plain: float
) -> None:
    """Tests both parts of an error; the customer, who is not named, has none."""
    found = compiled_reading(reading(unit, error), CAUSES)
    assert found.share == pytest.approx((0.0, share))
    assert found.plain == pytest.approx((0.0, plain))


@pytest.mark.parametrize(
    ("unit", "number", "value"),
    [("L/min", 6.0, 1e-4), ("°C", 43.0, 316.15), ("kΩ", 2.1, 2100.0), ("K/min", 3.0, 0.05)],
)
def test_a_number_in_its_unit_is_a_value_in_si(unit: str, number: float, value: float) -> None:
    """Tests slope and shift of units."""
    found = compiled_reading(reading(unit), CAUSES)
    assert found.slope * number + found.shift == pytest.approx(value)
    assert in_si(reading(unit), f"{number} {unit}") == pytest.approx(value)


def test_most_and_spoilers() -> None:
    """Tests where measuring ends, and causes by their place."""
    found = compiled_reading(reading("s", most="10 min", spoiled_by={"timer": 0.4}), CAUSES)
    assert found.most == 600.0
    assert found.spoiled_by == ((1, 0.4),)
    assert compiled_reading(reading("s"), CAUSES).most == float("inf")


def test_what_is_no_unit_is_refused() -> None:
    """Tests that the message says how to write one."""
    with pytest.raises(QuantityError, match="write one such as"):
        unit_of("furlong")
    assert si_of(reading("1")) == "1"


def test_an_error_below_zero_is_refused() -> None:
    """Tests that a standard deviation cannot be negative."""
    with pytest.raises(QuantityError, match="below zero"):
        compiled_reading(reading("s", "-0.1"), CAUSES)
