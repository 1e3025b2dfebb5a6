"""Tests of numbers as people write them."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import QuantityError
from tubside.quantities.numerals import (
    NUMBER,
    clock_seconds,
    letter_for_point,
    to_number,
    without_vulgar_fractions,
)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("5", 5.0),
        ("-5", -5.0),
        ("+5", 5.0),
        (".5", 0.5),
        (",5", 0.5),
        ("0,125", 0.125),
        ("1.200", 1.2),
        ("1,2", 1.2),
        ("1,2345", 1.2345),
        ("1.234.567", 1234567.0),
        ("1,234,567", 1234567.0),
        ("1.234.567,8", 1234567.8),
        ("-1.234,5", -1234.5),
        ("12 345", 12345.0),
        ("12 345,6", 12345.6),
        ("1.5e-6", 1.5e-6),
        ("1E3", 1000.0),
        ("3/4", 0.75),
        ("1 3/4", 1.75),
        ("-1 3/4", -1.75),
    ],
)
def test_value(text: str, value: float) -> None:
    """Tests that each form has its value, and that the pattern takes it whole."""
    assert re.fullmatch(NUMBER, text)
    assert to_number(text) == value


@pytest.mark.parametrize("text", ["1,234", "12,000", "-1,234", "1.2.3", "1,23,456", "3/0"])
def test_no_single_value(text: str) -> None:
    """Tests that what may be two numbers or none is refused."""
    with pytest.raises(QuantityError):
        to_number(text)


@given(st.integers(0, 10**9), st.sampled_from([",", ".", " "]))
def test_thousands(number: int, mark: str) -> None:
    """Tests that a grouped number is that number, or refused where one comma is two things."""
    text = f"{number:,}".replace(",", mark)
    if text.count(mark) == 1 and mark == ",":
        with pytest.raises(QuantityError, match="may be"):
            to_number(text)
    elif text.count(mark) == 1 and mark == ".":
        assert to_number(text) == pytest.approx(number / 1000)
    else:
        assert to_number(text) == number


def test_vulgar_fractions() -> None:
    """Tests that a half behind a number is added and not read as eleven halves."""
    assert to_number(without_vulgar_fractions("1½")) == 1.5


@pytest.mark.parametrize(
    ("text", "split"),
    [("2k1", ("2.1", "k")), ("10R5", ("10.5", "R")), ("k1", None), ("2k", None), ("2x1", None)],
)
def test_letter_for_point(text: str, split: tuple[str, str] | None) -> None:
    """Tests the letter in place of the decimal point."""
    assert letter_for_point(text, "RkM") == split


@given(st.integers(0, 99), st.integers(0, 59), st.integers(0, 59))
def test_clock(hours: int, minutes: int, seconds: int) -> None:
    """Tests that a clock gives back its seconds."""
    assert clock_seconds(f"{hours}:{minutes:02}:{seconds:02}") == (
        hours * 3600 + minutes * 60 + seconds
    )
    assert clock_seconds(f"{minutes}:{seconds:02}") == minutes * 60 + seconds
    assert clock_seconds(f"{minutes}.{seconds:02}") is None
