"""What a pack says of a reading, in SI units."""

from __future__ import annotations

from collections.abc import Sequence

from tubside.errors import QuantityError
from tubside.pack.fault_model import OBSERVERS, Reading
from tubside.pack.reading_schema import Reading as StatedReading
from tubside.quantities.reading import read_quantity
from tubside.quantities.units import Unit, kind_of, owner_of, plain
from tubside.strict_yaml.declared import number

COUNT = "1"


def compiled_reading(stated: StatedReading, causes: Sequence[str]) -> Reading:
    """The reading as arithmetic needs it; ``causes`` are all of the pack, in their order.

    Raises
    ------
    QuantityError
        When its unit, an error or a limit is not understood.
    """
    unit = unit_of(stated.unit)
    errors = [_error(stated, stated.error.get(who, "0")) for who in OBSERVERS]  # type: ignore[call-overload]  # OBSERVERS holds the literals
    most = float("inf") if stated.most is None else in_si(stated, stated.most)
    return Reading(
        quantity=stated.quantity,
        unit=unit.shown,
        slope=unit.factor,
        shift=unit.offset,
        share=(errors[0][0], errors[1][0]),
        plain=(errors[0][1], errors[1][1]),
        most=most,
        needs_fault=stated.needs_fault,
        spoiled_by=tuple(
            (causes.index(cause), chance) for cause, chance in stated.spoiled_by.items()
        ),
    )


def si_of(stated: StatedReading) -> str:
    """The SI unit of what is measured, as pint writes it."""
    return COUNT if stated.unit == COUNT else owner_of(stated.unit) or stated.unit


def unit_of(spelling: str) -> Unit:
    """The unit of this spelling; "1" is a count or a ratio.

    Raises
    ------
    QuantityError
        When no kind of quantity knows it.

    Examples
    --------
    >>> unit_of("kΩ").factor, unit_of("1").shown
    (1000.0, '')
    """
    if spelling == COUNT:
        return Unit("", 1.0)
    kind = kind_of(owner_of(spelling) or "")
    found = kind.find(plain(spelling)) if kind is not None else None
    if found is None:
        msg = f"the unit '{spelling}' is not known; write one such as L/min, s, mm, kΩ or 1"
        raise QuantityError(msg)
    return found


def in_si(stated: StatedReading, text: str) -> float:
    """A value told for a reading [SI]; a bare number is in the reading's unit.

    Raises
    ------
    QuantityError
        When it is no quantity of that kind.
    """
    if stated.unit == COUNT:
        return read_quantity(text, COUNT)
    return read_quantity(text, si_of(stated), assumed=stated.unit)


def _error(stated: StatedReading, text: str) -> tuple[float, float]:
    """The share of the value, and the plain part [SI]."""
    share = steady = 0.0
    for part in text.split(" and "):
        bare = number(part.strip())
        if bare is not None and stated.unit != COUNT:
            share = bare
        elif bare is not None:
            steady = bare
        else:
            si = si_of(stated)
            steady = read_quantity(part, si, delta=si == "K")
    if share < 0.0 or steady < 0.0:
        msg = f"the error '{text}' is below zero; write a standard deviation"
        raise QuantityError(msg)
    return share, steady
