"""From SI back to what pages show."""

from __future__ import annotations

import math
from decimal import Decimal

from tubside.errors import QuantityError
from tubside.quantities.registry import base_unit, pint_unit
from tubside.quantities.units import KINDS, Unit, kind_of, owner_of, plain


def show_quantity(value: float, unit_shown: str, digits: int, *, delta: bool = False) -> str:
    """Return an SI value in the unit ``unit_shown``, with so many significant digits.

    Zeros before the decimal point fill up what the digits leave; an exponent is never
    written. "F" alone is farad; degrees Fahrenheit are "°F".

    Raises
    ------
    QuantityError
        If the unit is not known or the value is no finite number.

    Examples
    --------
    >>> show_quantity(1e-4, "L/min", 2), show_quantity(2100.0, "kΩ", 3)
    ('6.0 L/min', '2.10 kΩ')
    >>> show_quantity(316.15, "°C", 2), show_quantity(4.0, "K", 1, delta=True)
    ('43 °C', '4 K')
    """
    unit = _unit_to_show(unit_shown, delta=delta)
    number = unit.from_si(value)
    if not math.isfinite(number) or digits < 1:
        message = f"{value} {unit_shown} cannot be shown; give a finite value and 1 or more digits"
        raise QuantityError(message)
    return f"{significant(number, digits)} {unit.shown}".strip()


def significant(number: float, digits: int) -> str:
    """Return a number with so many significant digits and no exponent.

    Examples
    --------
    >>> significant(0.0123456, 3), significant(1234.5, 2), significant(9.96, 2)
    ('0.0123', '1200', '10')
    """
    if not number:
        return "0"
    return format(Decimal(f"{number:.{digits - 1}e}"), "f")


def fitting_unit(value: float, unit: str) -> str:
    """Return the unit, of those often written for this SI unit, in which a value is 0.1 to 1000.

    Examples
    --------
    >>> fitting_unit(2100.0, "ohm"), fitting_unit(0.47, "ohm"), fitting_unit(1.6e-5, "F")
    ('kΩ', 'Ω', 'µF')
    """
    kind = kind_of(unit)
    if kind is None or not kind.mistaken:
        return unit
    named = [kind.units[plain(name)] for name in kind.mistaken]
    fitting = [each for each in named if 0.1 <= abs(each.from_si(value)) < 1000.0]
    return (fitting or named)[0].shown


def _unit_to_show(unit_shown: str, *, delta: bool) -> Unit:
    if unit_shown in {"", "1"}:
        return Unit("", 1.0)
    si = owner_of(unit_shown)
    if si:
        kind = kind_of(si, delta=delta) or KINDS[si]
        found = kind.find(plain(unit_shown))
        assert found is not None
        return found
    base = base_unit(plain(unit_shown))
    known = pint_unit(plain(unit_shown), base, delta=delta) if base else None
    if not known:
        message = f"'{unit_shown}' is no unit to show; use one such as L/min or °C"
        raise QuantityError(message)
    return known
