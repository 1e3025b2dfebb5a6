"""Tests of quantities as people write them."""

from __future__ import annotations

import math
import subprocess
import sys
import time
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import QuantityError
from tubside.quantities.reading import read_quantity, read_written

GALLON = 231 * 0.0254**3

WRITTEN = [
    ("6 L/min", "m**3/s", 1e-4),
    ("6L/min", "m**3/s", 1e-4),
    ("6 l/min", "m**3/s", 1e-4),
    ("6 lpm", "m**3/s", 1e-4),
    ("6 litre/minute", "m**3/s", 1e-4),
    ("1.6 gpm", "m**3/s", 1.6 * GALLON / 60),
    ("43 F", "K", 273.15 + (43 - 32) / 1.8),
    ("43 °F", "K", 273.15 + (43 - 32) / 1.8),
    ("43 °C", "K", 316.15),
    ("43 ℃", "K", 316.15),
    ("43C", "K", 316.15),
    ("-5 °C", "K", 268.15),
    ("\N{MINUS SIGN}5 °C", "K", 268.15),
    ("316.15 K", "K", 316.15),
    ("2.1 kΩ", "ohm", 2100.0),
    ("2.1 k\N{OHM SIGN}", "ohm", 2100.0),
    ("2,1 kohm", "ohm", 2100.0),
    ("2.1 k", "ohm", 2100.0),
    ("2.1 K", "ohm", 2100.0),
    ("2k1", "ohm", 2100.0),
    ("2k1Ω", "ohm", 2100.0),
    ("4R7", "ohm", 4.7),
    ("1M2", "ohm", 1.2e6),
    ("1.2 MΩ", "ohm", 1.2e6),
    ("1.2 mΩ", "ohm", 1.2e-3),
    ("5 mOhm", "ohm", 5e-3),
    ("1.2 megohm", "ohm", 1.2e6),
    ("16 µF", "F", 16e-6),
    ("16 μF", "F", 16e-6),
    ("16 uF", "F", 16e-6),
    ("16 mfd", "F", 16e-6),
    ("4u7", "F", 4.7e-6),
    ("1 in", "m", 0.0254),
    ('3/4"', "m", 0.75 * 0.0254),
    ("1½ in", "m", 1.5 * 0.0254),
    ("1 1/2 in", "m", 1.5 * 0.0254),
    ("5 ft 3 in", "m", 63 * 0.0254),
    ("850 mm", "m", 0.85),
    ("15 mH2O", "Pa", 15 * 9806.65),
    ("350 kPa", "Pa", 350e3),
    ("350 KPA", "Pa", 350e3),
    ("3.5 bar", "Pa", 350e3),
    ("50 psi", "Pa", 50 * 0.45359237 * 9.80665 / 0.0254**2),
    ("450 rpm", "rad/s", 15 * math.pi),
    ("450 1/min", "rad/s", 15 * math.pi),
    ("1 200 rpm", "rad/s", 40 * math.pi),
    ("1\N{NARROW NO-BREAK SPACE}200 rpm", "rad/s", 40 * math.pi),
    ("1,200.0 rpm", "rad/s", 40 * math.pi),
    ("1.200,0 rpm", "rad/s", 40 * math.pi),
    ("20 Hz", "rad/s", 40 * math.pi),
    ("3000 rpm", "Hz", 50.0),
    ("90 s", "s", 90.0),
    ("1:30", "s", 90.0),
    ("1:05:00", "s", 3900.0),
    ("1 min 30 s", "s", 90.0),
    ("1 min, 30 s", "s", 90.0),
    ("1m30s", "s", 90.0),
    ("1.5 min", "s", 90.0),
    ("1,5 min", "s", 90.0),
    ("14 °dH", "mol/m**3", 14 * 0.01 / 0.0560774),
    ("14 dH", "mol/m**3", 14 * 0.01 / 0.0560774),
    ("7.5 kg", "kg", 7.5),
    ("16 lb 4 oz", "kg", 16.25 * 0.45359237),
    ("0,8", "1", 0.8),
    ("80 %", "1", 0.8),
    ("1e-3 F", "F", 1e-3),
    ("12 N m", "N*m", 12.0),
    ("9 N/mm", "N/m", 9000.0),
    ("0.8 kWh", "J", 2.88e6),
    ("2 V*A", "W", 2.0),
    ("3 furlong", "m", 3 * 220 * 3 * 0.3048),
    ("3 kg*m**2", "kg*m**2", 3.0),
]


@pytest.mark.parametrize(("text", "unit", "value"), WRITTEN, ids=str)
def test_is_understood(text: str, unit: str, value: float) -> None:
    """Tests that each way of writing gives its SI value; furlongs by pint's survey foot."""
    assert read_quantity(text, unit) == pytest.approx(value, rel=1e-5 if "fur" in text else 1e-12)


@pytest.mark.parametrize(
    ("text", "value"), [("4 K", 4.0), ("4 C", 4.0), ("7.2 F", 4.0), ("-4 °C", -4.0)]
)
def test_a_difference_has_no_zero_point(text: str, value: float) -> None:
    """Tests that a temperature difference is not read as a temperature."""
    assert read_quantity(text, "K", delta=True) == pytest.approx(value, rel=1e-12)


REFUSED = [
    ("6 L/min", "K", "'6 L/min' is a flow; wanted is a temperature, for example 43 °C"),
    ("43 °C", "m**3/s", "is a temperature; wanted is a flow, for example 6 L/min"),
    ("20 Hz", "1/s", "is a frequency; wanted is a share a second"),
    ("6", "m**3/s", "is a bare number without its unit"),
    ("-300 C", "K", "cannot be"),
    ("-5 L/min", "m**3/s", "cannot be"),
    ("1e99 Ghz", "s", "which does not fit or is not known"),
    ("OL", "ohm", "write the top of the range"),
    ("1,200 rpm", "rad/s", "may be 1.200 or 1200"),
    ("1/0 in", "m", "divides by nothing"),
    ("1.2.3 V", "V", "is no number"),
    ("1,2,3 V", "V", "is no number"),
    ("30 s 1 min", "s", "no sum of large and small"),
    ("1 min 2 min", "s", "no sum of large and small"),
    ("1:75", "s", "is not understood"),
    ("1:75:00", "s", "is not understood"),
    ("warm", "K", "is not understood"),
    ("", "s", "is not understood"),
    ("> 20 MΩ", "ohm", "is not understood"),
    ("6 L/min or so", "m**3/s", "which does not fit or is not known"),
    ("9**9**9 m", "m", "which does not fit or is not known"),
    ("1 m**9**9", "m", "which does not fit or is not known"),
    ("1 " + "x" * 99, "m", "is too long"),
]


@pytest.mark.parametrize(("text", "unit", "says"), REFUSED)
def test_is_refused(text: str, unit: str, says: str) -> None:
    """Tests that what is wrong is said, with the kind wanted and an example."""
    with pytest.raises(QuantityError) as caught:
        read_quantity(text, unit)
    assert says in str(caught.value)
    assert "for example" in str(caught.value)


def test_an_unknown_wanted_unit_is_told() -> None:
    """Tests that a wanted unit which nobody knows is an error about that unit."""
    with pytest.raises(QuantityError, match="'blurb' is no unit"):
        read_quantity("3 m", "blurb")


def test_the_unit_of_the_field() -> None:
    """Tests that a bare number takes the field's unit, a written unit goes before it."""
    assert read_quantity("6", "m**3/s", assumed="L/min") == pytest.approx(1e-4)
    assert read_quantity("6 L/s", "m**3/s", assumed="L/min") == pytest.approx(6e-3)
    assert read_quantity("43", "K", assumed="°C") == pytest.approx(316.15)


def test_what_stands_there_is_kept() -> None:
    """Tests that number and unit as written come with the value."""
    written = read_written(" 2,1 KΩ ", "ohm")
    assert (written.text, written.number, written.unit.shown) == ("2,1 KΩ", 2.1, "kΩ")
    assert read_written("1 min 30 s", "s").number == float(Fraction(90))


ANYTHING = st.one_of(
    st.text(max_size=70),
    st.text("0123456789.,/ -+eE:kmMΩuµLFCKRshinft'\"%°*^()[]{}_αβ²³½\n\t", max_size=20),
    st.from_regex(r"[0-9]{1,3} [A-Za-z]{1,6}([*/^ ][A-Za-z0-9]{1,4}){0,3}", fullmatch=True),
)


@given(ANYTHING, st.sampled_from(["m", "m**3/s", "K", "ohm", "F", "s", "1", "kg*m**2"]))
def test_any_text_is_read_or_refused(text: str, unit: str) -> None:
    """Tests that whatever is written gives a finite number or our own error, never another."""
    try:
        value = read_quantity(text, unit)
    except QuantityError as error:
        assert "wanted is" in str(error)  # noqa: PT017  both ends are fine, another error is not
    else:
        assert math.isfinite(value)


def test_the_units_of_the_trade_need_no_pint() -> None:
    """Tests that reading and showing units of the trade do not load pint, so start-up is fast."""
    code = (
        "import sys; from tubside.quantities import read_quantity, show_quantity;"
        "read_quantity('1.6 gpm', 'm**3/s'); show_quantity(300.0, '°C', 3);"
        "assert 'pint' not in sys.modules; assert 'numpy' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_reading_is_fast() -> None:
    """Tests that a quantity is read in a millisecond, by pint too once it is loaded."""
    read_quantity("3 furlong", "m")
    for text, unit in [("2k1", "ohm"), ("1 min 30 s", "s"), ("3 furlong", "m")]:
        start = time.perf_counter()
        for _ in range(100):
            read_quantity(text, unit)
        assert time.perf_counter() - start < 0.1
