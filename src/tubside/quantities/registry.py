"""Units that the short tables do not hold, by way of pint, which takes half a second to load."""

from __future__ import annotations

import re
from functools import cache, lru_cache
from typing import TYPE_CHECKING

from tubside.errors import QuantityError
from tubside.quantities.units import Unit

if TYPE_CHECKING:
    import pint

# Names joined by signs, with one-digit powers: nothing here can make a parser work for long.
_NAME = r"[^\W\d]{1,24}(?:2O)?\s?(?:(?:\*\*|\^)?-?[1-9])?"
_UNIT_TEXT = re.compile(rf"(?:1\s?/\s?)?{_NAME}(?:\s?[*/· ]\s?{_NAME}){{0,5}}")


@cache
def registry() -> pint.UnitRegistry[float]:
    """Return pint's registry, made at first use, with the trade's units added."""
    import pint  # noqa: PLC0415  half a second that most commands never need

    made: pint.UnitRegistry[float] = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    made.define("gpm = gallon / minute")
    made.define("mH2O = 9806.65 pascal")
    return made


@lru_cache(maxsize=256)
def pint_unit(spelling: str, unit: str, *, delta: bool = False) -> Unit | None:
    """Return a spelled unit as factor and offset to the SI unit ``unit``.

    None when pint does not know the spelling or when it is of another kind.

    Raises
    ------
    QuantityError
        If ``unit`` itself is nothing that pint knows.
    """
    import pint  # noqa: PLC0415  as above

    try:
        wanted = registry().parse_units(unit)
    except (pint.errors.PintError, ValueError, TypeError) as error:
        message = f"'{unit}' is no unit; write it as pint does, for example 'm**3/s'"
        raise QuantityError(message) from error
    if not _UNIT_TEXT.fullmatch(spelling):
        return None
    try:
        found = registry().parse_units(spelling)
        zero, one = (float(registry().Quantity(n, found).to(wanted).magnitude) for n in (0.0, 1.0))
    except (pint.errors.PintError, ValueError, TypeError, AttributeError):
        return None
    return Unit(spelling, one - zero, 0.0 if delta else zero)


def base_unit(spelling: str) -> str | None:
    """Return pint's SI unit of the same kind as a spelled unit, or None if it is not known."""
    import pint  # noqa: PLC0415  as above

    if not _UNIT_TEXT.fullmatch(spelling):
        return None
    try:
        return str(registry().Quantity(1.0, spelling).to_base_units().units)
    except (pint.errors.PintError, ValueError, TypeError, AttributeError):
        return None
