"""Tests of questions about numbers that can hardly be meant."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import QuantityError
from tubside.quantities.doubt import Expected, doubts
from tubside.quantities.reading import read_written

COIL = Expected(0.0, 1e9, 500.0, 6000.0, "valve coil")
EARTH = Expected(0.0, 1e9, 0.02, 20.0)
HOT = Expected(273.15, 373.15, 313.15, 343.15, "hot tap")
FLOW = Expected(0.0, 1e-3, 0.08e-3, 0.25e-3)


@pytest.mark.parametrize(
    ("text", "unit", "expected", "question", "meant"),
    [
        ("0.12 MΩ", "ohm", EARTH, "0.12 MΩ or 0.12 Ω?", [120e3, 0.12]),
        ("12 kΩ", "ohm", COIL, "12 kΩ valve coil: do you mean 1.2 kΩ?", [12e3, 1200.0]),
        ("1.2 Ω", "ohm", COIL, "1.2 Ω or 1.2 kΩ?", [1.2, 1200.0]),
        ("2 gpm", "m**3/s", Expected(0, 1e-3, 2e-5, 5e-5), "2 gpm or 2 L/min?", None),
        ("130 °C", "K", HOT, "130 °C hot tap cannot be: do you mean 130 °F?", None),
        ("60 °C", "K", HOT, None, None),
        ("20 °C", "K", HOT, None, None),
        ("500 Ω", "ohm", COIL, None, None),
    ],
)
def test_question(
    text: str, unit: str, expected: Expected, question: str | None, meant: list[float] | None
) -> None:
    """Tests which question is asked, if any, and what it offers."""
    asked = doubts(read_written(text, unit), expected)
    assert (asked.text if asked else None) == question
    if meant is not None:
        assert asked is not None
        assert [each.value for each in asked.alternatives] == pytest.approx(meant)


def test_a_bare_number_is_asked_about_with_its_unit() -> None:
    """Tests that the unit a number was taken to have stands in the question and the answer."""
    asked = doubts(read_written("0.12", "ohm", assumed="kΩ"), COIL)
    assert asked is not None
    assert asked.text == "0.12 kΩ valve coil: do you mean 1.2 kΩ?"
    assert asked.alternatives[0].text == "0.12 kΩ"


def test_a_surprise_is_no_slip() -> None:
    """Tests that an unlikely number that no slip explains is taken as it is."""
    assert doubts(read_written("0.3 MΩ", "ohm"), COIL) is None


def test_what_cannot_be_and_no_slip_explains() -> None:
    """Tests that such a number is refused, with the range that can be."""
    lock = Expected(0.0, 1e5, 900.0, 1000.0, "lock coil")
    with pytest.raises(QuantityError, match="lock coil cannot be; it lies from 0 to 100 kΩ"):
        doubts(read_written("444 kΩ", "ohm"), lock)


def test_the_ends_of_a_range_have_no_idle_zeros() -> None:
    """Tests that a range of whole degrees is told in whole degrees."""
    tap = Expected(273.15, 353.15, 273.15, 308.15, "cold tap")
    with pytest.raises(QuantityError, match="it lies from 0 to 80 °C, so"):
        doubts(read_written("-3 C", "K"), tap)


@given(st.floats(1e-2, 1e9))
def test_every_alternative_is_likely(ohms: float) -> None:
    """Tests that each thing offered, but what was written, is likely and reads as it says."""
    asked = doubts(read_written(f"{ohms:.6f} Ω", "ohm"), COIL)
    assert (asked is None) or not COIL.likely(ohms)
    for each in asked.alternatives[1:] if asked else ():
        assert COIL.likely(each.value)
        assert read_written(each.text, "ohm").value == pytest.approx(each.value, rel=1e-5)


@given(st.floats(4.8, 15.0))
def test_the_wrong_unit_is_found(litres: float) -> None:
    """Tests that a likely flow in L/min put down as gpm, when unlikely so, is asked about."""
    asked = doubts(read_written(f"{litres:.3f} gpm", "m**3/s"), FLOW)
    assert (asked is not None) == (litres * 231 * 0.0254**3 / 60 > FLOW.likely_high * (1 + 1e-9))
    if asked:
        assert any(each.text.endswith("L/min") for each in asked.alternatives)
