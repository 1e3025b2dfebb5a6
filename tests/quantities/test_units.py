"""Tests of the short tables of units against pint, a second authority."""

from __future__ import annotations

import pytest

from tubside.quantities.registry import registry
from tubside.quantities.units import DIFFERENCE, KINDS, kind_of, owner_of, plain

# Shown form -> what pint calls it; units that pint lacks stand in ``NOT_IN_PINT``.
IN_PINT = {
    "L/min": "liter/minute",
    "gpm": "gallon/minute",
    "imp gpm": "imperial_gallon/minute",
    "gal": "gallon",
    "imp gal": "imperial_gallon",
    "ft": "foot",
    "in": "inch",
    "mH2O": "9806.65 pascal",
    "cmH2O": "centimeter_H2O",
    "mmH2O": "millimeter_H2O",
    "inH2O": "inch_H2O",
    "rpm": "revolution/minute",
    "rev/s": "revolution/second",
    "lbf ft": "force_pound*foot",
    "lbf": "force_pound",
    "kgf": "force_kilogram",
    "°C": "degC",
    "°F": "degF",
    "%": "0.01",
    "ppm": "1e-6",
    "%/min": "0.01/minute",
    "%/s": "0.01/second",
    "N m": "newton*meter",
    "mmol/L": "millimole/liter",
    "g-force": "9.80665 meter/second**2",
}
NOT_IN_PINT = {"°dH", "°fH", "mg/L", "gpg", "°Clark", "1/min of Hz"}
ROWS = [
    (si, shown)
    for si, kind in KINDS.items()
    for shown in sorted({unit.shown for unit in kind.units.values()})
    if shown not in NOT_IN_PINT and f"{shown} of {si}" not in NOT_IN_PINT
]


@pytest.mark.parametrize(("si", "shown"), ROWS)
def test_pint_agrees(si: str, shown: str) -> None:
    """Tests that factor and offset of a unit are pint's."""
    unit = KINDS[si].units[plain(shown)]
    named = IN_PINT.get(shown, shown)
    if named[0].isdigit():
        theirs = registry().parse_expression(named)
        one = float(registry().Quantity(theirs).to(si if si != "1" else "").magnitude)
        zero = 0.0
    else:
        zero, one = (float(registry().Quantity(x, named).to(si).magnitude) for x in (0.0, 1.0))
    assert unit.to_si(0.0) == pytest.approx(zero, abs=1e-9)
    # pint's water column and force units carry five digits of gravity or more
    assert unit.factor == pytest.approx(one - zero, rel=1e-5 if "H2O" in shown else 1e-12)


def test_hardness_scales() -> None:
    """Tests the scales of hardness on 1 mmol/L: 5.608 °dH, 10.01 °fH, 100.1 mg/L, 5.847 gpg.

    From the molar masses of lime and calcium carbonate; the grain per US gallon is 17.118 mg/L.
    """
    units = KINDS["mol/m**3"].units
    shown = {name: units[plain(name)].from_si(1.0) for name in ("°dH", "°fH", "mg/L", "gpg")}
    assert shown == pytest.approx(
        {"°dH": 5.608, "°fH": 10.01, "mg/L": 100.09, "gpg": 5.847}, rel=2e-4
    )


def test_a_unit_of_two_kinds_goes_to_the_one_that_shows_it() -> None:
    """Tests which kind owns a spelling: K is kelvin and not kiloohm, m is metre, F is farad."""
    owners = {name: owner_of(name) for name in ("K", "m", "F", "g", "rpm", "MΩ", "blurb")}
    assert owners == {
        "K": "K",
        "m": "m",
        "F": "F",
        "g": "kg",
        "rpm": "rad/s",
        "MΩ": "ohm",
        "blurb": None,
    }


def test_mistaken_units_are_units() -> None:
    """Tests that every unit said to be mistaken for another is in its table, in shown form."""
    for kind in (*KINDS.values(), DIFFERENCE):
        for name in kind.mistaken:
            assert kind.units[plain(name)].shown == name


def test_only_kelvin_has_differences() -> None:
    """Tests that asking for a difference changes temperatures only."""
    assert kind_of("K", delta=True) is DIFFERENCE
    assert kind_of("Pa", delta=True) is KINDS["Pa"]
    assert kind_of("kg*m**2") is None
