"""A number that can hardly be meant is asked about: another unit, another decimal point."""

from __future__ import annotations

from dataclasses import dataclass

from tubside.errors import QuantityError
from tubside.quantities.reading import Written
from tubside.quantities.showing import significant
from tubside.quantities.units import Unit, kind_of, plain

MOST_ASKED = 3
_SLIPS = (0.1, 10.0)


@dataclass(frozen=True, slots=True)
class Expected:
    """What a number can be at all, and where it is likely, in SI.

    ``what`` names the thing measured, for the question: "valve coil".
    """

    low: float
    high: float
    likely_low: float
    likely_high: float
    what: str = ""

    def likely(self, value: float) -> bool:
        """Whether a value lies where it is likely; the ends count."""
        return self._between(value, self.likely_low, self.likely_high)

    def possible(self, value: float) -> bool:
        """Whether a value can be at all; the ends count."""
        return self._between(value, self.low, self.high)

    @staticmethod
    def _between(value: float, low: float, high: float) -> bool:
        # A hair of room: 4.9 kΩ written is not below 4.9 kΩ because of the last bit.
        room = 1e-9 * max(abs(low), abs(high)) if max(abs(low), abs(high)) < 1e300 else 0.0
        return low - room <= value <= high + room


@dataclass(frozen=True, slots=True)
class Alternative:
    """One thing that may have been meant: how to write it, and its SI value."""

    text: str
    value: float


@dataclass(frozen=True, slots=True)
class Question:
    """Which of these is meant? The first is what was written, if that can be at all."""

    text: str
    alternatives: tuple[Alternative, ...]


def doubts(written: Written, expected: Expected) -> Question | None:
    """Return a question when a written number is unlikely and a slip would explain it.

    Tried are the units often put down in place of the one written (MΩ for Ω, °F for °C,
    gpm for L/min), then the decimal point one place off; a slip counts when it
    lands where the number is likely. A number that is unlikely, possible and explained by
    no slip gives None: it is a surprise, not a slip.

    Raises
    ------
    QuantityError
        If the number cannot be and no slip explains it.

    Examples
    --------
    >>> from tubside.quantities.reading import read_written
    >>> coil = Expected(0.0, 1e9, 500.0, 6000.0, "valve coil")
    >>> doubts(read_written("12 kΩ", "ohm"), coil).text
    '12 kΩ valve coil: do you mean 1.2 kΩ?'
    >>> doubts(read_written("0.12 MΩ", "ohm"), Expected(0.0, 1e9, 0.05, 20.0)).text
    '0.12 MΩ or 0.12 Ω?'
    """
    if expected.likely(written.value):
        return None
    other_units = [each for each in _other_units(written) if expected.likely(each.value)]
    other_points = [each for each in _other_points(written) if expected.likely(each.value)]
    meant = (other_units + other_points)[:MOST_ASKED]
    possible = expected.possible(written.value)
    if not meant and not possible:
        raise _impossible(written, expected)
    if not meant:
        return None
    kept = (Alternative(written.text, written.value),) if possible else ()
    return Question(_wording(written, expected, meant, by_unit=bool(other_units)), (*kept, *meant))


def _other_units(written: Written) -> list[Alternative]:
    """Return the same digits with the units often mistaken for the one written."""
    kind = kind_of(written.si, delta=written.delta)
    named = [kind.units[plain(name)] for name in kind.mistaken] if kind else []
    return [
        Alternative(_text(written.number, unit), unit.to_si(written.number))
        for unit in named
        if unit != written.unit
    ]


def _other_points(written: Written) -> list[Alternative]:
    numbers = [written.number * slip for slip in _SLIPS]
    return [Alternative(_text(n, written.unit), written.unit.to_si(n)) for n in numbers]


def _text(number: float, unit: Unit) -> str:
    digits = significant(number, 6)
    if "." in digits:
        digits = digits.rstrip("0").rstrip(".")
    return f"{digits} {unit.shown}".strip()


def _wording(
    written: Written, expected: Expected, meant: list[Alternative], *, by_unit: bool
) -> str:
    choices = [each.text for each in meant]
    what = f" {expected.what}" if expected.what else ""
    if not expected.possible(written.value):
        return f"{written.text}{what} cannot be: do you mean {_either(choices)}?"
    if by_unit:
        return f"{_either([written.text, *choices])}?"
    return f"{written.text}{what}: do you mean {_either(choices)}?"


def _either(choices: list[str]) -> str:
    *first, last = choices
    return f"{', '.join(first)} or {last}" if first else last


def _impossible(written: Written, expected: Expected) -> QuantityError:
    low, high = (
        _text(written.unit.from_si(end), written.unit) for end in (expected.low, expected.high)
    )
    what = f" {expected.what}" if expected.what else ""
    low = low.removesuffix(f" {written.unit.shown}")
    return QuantityError(
        f"'{written.text}'{what} cannot be; it lies from {low} to {high}, "
        "so measure again or look at the unit"
    )
