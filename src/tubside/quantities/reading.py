"""From what somebody wrote to a number in SI, or an error that says how to write it."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import NoReturn

from tubside.errors import QuantityError
from tubside.quantities.numerals import (
    NUMBER,
    clock_seconds,
    letter_for_point,
    to_number,
    without_vulgar_fractions,
)
from tubside.quantities.registry import pint_unit
from tubside.quantities.units import KINDS, Kind, Unit, kind_of, owner_of, plain

LONGEST = 60
_ONE = re.compile(rf"({NUMBER})\s*((?:1/|/|[^\d\s.,:+\-]).*)?", re.DOTALL)
_PART = re.compile(rf"({NUMBER})\s*([^\W\d]+|['\"]+)")
_PARTS = re.compile(rf"(?:{_PART.pattern}[\s,]*){{2,4}}")
_OVER_RANGE = {"ol", "0l", "o.l", "o.l.", "0.l", "overload", "open", "∞", "inf", "infinite"}
_LETTERS = {"ohm": "RkKM", "F": "pnuμ"}
_PARTED = {"s", "m", "kg"}


@dataclass(frozen=True, slots=True)
class Written:
    """What somebody wrote and what it means.

    ``number`` of ``unit`` was read; ``value`` is the same in the SI unit ``si``. A bare number
    has the unit it was taken to have in its ``text`` too.
    """

    text: str
    number: float
    unit: Unit
    value: float
    si: str
    delta: bool = False


def read_quantity(text: str, unit: str, *, assumed: str = "", delta: bool = False) -> float:
    """Return the SI value of a quantity as written.

    Parameters
    ----------
    text
        For example "6 L/min", "2,1 kΩ", "2k1", "1 min 30 s", "43 F".
    unit
        The SI unit wanted, as pint writes it ("m**3/s", "K", "1"); it also says of which
        kind the quantity must be.
    assumed
        The unit meant when a bare number is written; without it a bare number is an error
        unless a plain number is wanted.
    delta
        For kelvin: a difference of temperatures is wanted, not a temperature.

    Raises
    ------
    QuantityError
        If the number or the unit is not understood, is of another kind, or cannot be.

    Examples
    --------
    >>> round(read_quantity("6 L/min", "m**3/s") * 60_000, 9)
    6.0
    >>> read_quantity("2k1", "ohm"), read_quantity("1:30", "s"), read_quantity("80 %", "1")
    (2100.0, 90.0, 0.8)
    >>> round(read_quantity("9 F", "K", delta=True), 9)
    5.0
    """
    return read_written(text, unit, assumed=assumed, delta=delta).value


def read_written(text: str, unit: str, *, assumed: str = "", delta: bool = False) -> Written:
    """Return what was written, as ``read_quantity``, with number and unit as they stand.

    Raises
    ------
    QuantityError
        As ``read_quantity``.
    """
    wanted = _Wanted(text, unit, kind_of(unit, delta=delta), delta)
    if len(text) > LONGEST:
        wanted.refuse("is too long")
    tidy = plain(without_vulgar_fractions(text))
    if tidy.casefold() in _OVER_RANGE:
        wanted.refuse("is no number; write the top of the range the meter stood at")
    parted = _parted(tidy, wanted)
    number, found = parted or _single(tidy, wanted, assumed)
    value = found.to_si(number)
    least = wanted.kind.least if wanted.kind else -math.inf
    if value < least * (1 - 1e-12):
        wanted.refuse("cannot be")
    bare = not parted and re.fullmatch(NUMBER, tidy)
    shown = f"{text.strip()} {found.shown}".strip() if bare else text.strip()
    return Written(shown, number, found, value, unit, delta)


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What was written and what is wanted; finds units and refuses."""

    text: str
    si: str
    kind: Kind | None
    delta: bool

    def refuse(self, what: str) -> NoReturn:
        noun, example = (
            (self.kind.noun, self.kind.example)
            if self.kind
            else (f"a quantity in {self.si}", f"1 {self.si}")
        )
        shown = self.text.strip()[:LONGEST]
        message = f"'{shown}' {what}; wanted is {noun}, for example {example}"
        raise QuantityError(message)

    def unit(self, spelling: str) -> Unit:
        found = self.kind.find(spelling) if self.kind else None
        if found:
            return found
        other = owner_of(spelling) if self.kind else None
        if other:
            self.refuse(f"is {KINDS[other].noun}")
        known = pint_unit(spelling, self.si, delta=self.delta)
        if not known:
            self.refuse(f"has the unit '{spelling}', which does not fit or is not known")
        return known


def _parted(tidy: str, wanted: _Wanted) -> tuple[float, Unit] | None:
    """Read what is no single number and unit: 1:30, 2k1, 1 min 30 s, 5 ft 3 in."""
    if wanted.si == "s":
        seconds = clock_seconds(tidy)
        if seconds is not None:
            return seconds, wanted.unit("s")
    split = letter_for_point(tidy.removesuffix("Ω"), _LETTERS.get(wanted.si, ""))
    if split:
        mark = "" if split[1] == "R" else split[1]
        return float(split[0]), wanted.unit(mark + {"ohm": "Ω"}.get(wanted.si, wanted.si))
    if wanted.si not in _PARTED or not _PARTS.fullmatch(tidy):
        return None
    parts = [(to_number(n), wanted.unit(spelling)) for n, spelling in _PART.findall(tidy)]
    sizes = [unit.factor for _, unit in parts]
    if sizes != sorted(set(sizes), reverse=True):
        wanted.refuse("is no sum of large and small units")
    whole = math.fsum(unit.to_si(number) for number, unit in parts)
    return whole / sizes[-1], parts[-1][1]


def _single(tidy: str, wanted: _Wanted, assumed: str) -> tuple[float, Unit]:
    """Read one number with its unit; a bare number takes the assumed one."""
    found = _ONE.fullmatch(tidy)
    if not found:
        wanted.refuse("is not understood")
    try:
        number = to_number(found[1])
    except QuantityError as error:
        wanted.refuse(f"is not clear: {error}")
    spelling = (found[2] or plain(assumed)).strip()
    if spelling:
        return number, wanted.unit(spelling)
    if wanted.si != "1":
        wanted.refuse("is a bare number without its unit")
    return number, Unit("", 1.0)
