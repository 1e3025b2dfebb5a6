"""What a pack measures is something that there is a formula for, told in a unit that fits."""

from __future__ import annotations

from collections.abc import Iterator

from tubside.errors import Problem
from tubside.machine.quantities import QUANTITIES
from tubside.pack.compiling_reading import si_of
from tubside.pack.reading import PackSource
from tubside.strict_yaml import or_one_of


def unfit_readings(source: PackSource) -> Iterator[Problem]:
    """Yield readings of unknown quantities, in units of another kind, or without a machine."""
    for name, check in source.pack.checks.items():
        reading = check.reading
        if reading is None:
            continue
        path = ("checks", name, "reading", "quantity")
        quantity = QUANTITIES.get(reading.quantity)
        if quantity is None:
            what = f"'{name}' measures an unknown quantity '{reading.quantity}'"
            mend = or_one_of(reading.quantity, QUANTITIES)
            yield source.document.problem(path, what, mend)
        elif si_of(reading) != quantity.unit:
            what = f"'{name}' tells {quantity.title} in {reading.unit}"
            mend = f"give it a unit of {quantity.unit}"
            yield source.document.problem((*path[:-1], "unit"), what, mend)
        elif not source.pack.machine:
            what = f"'{name}' measures a machine, and the pack describes none"
            yield source.document.problem(path, what, "add the section 'machine'")
