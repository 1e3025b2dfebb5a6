"""A value of the sheet that can hardly be meant is asked about before it is kept."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from tubside.errors import QuantityError
from tubside.pack.fault_model import Machine
from tubside.panel.sheet_names import SHEET, SheetName
from tubside.panel.sheet_values import written_value
from tubside.quantities import Alternative, Expected, Question, Written, doubts, fitting_unit
from tubside.quantities.showing import show_quantity, significant

ORDINARY = 2.0
"""A model's value within this factor of the family's raises no question, nor one within
three of the family's standard deviations (common practice, no source)."""
TIMES_ORDINARY = 3.0
"""The same for what a maker sets freely: times and limits of the controller."""
KELVINS = 20.0
"""The same for a temperature (common practice, no source)."""
DEVIATIONS = 3.0
SIGNIFICANT = 3


@dataclass(frozen=True, slots=True)
class Usual:
    """The family's value [SI], where a model's raises no question, and where a slip may land."""

    middle: float
    near: tuple[float, float]
    far: tuple[float, float]


def usual(name: str, machine: Machine | None) -> Usual | None:
    """Where a value is usual in this family; None where nothing says so."""
    of = SHEET[name]
    if of.ordinary is not None:
        low, high = of.ordinary
        return Usual((low * high) ** 0.5, of.ordinary, of.ordinary)
    if machine is None or not speaks_of(name, machine):
        return None
    if of.speaks == "controller":
        return _by_factor(machine.controller[name], TIMES_ORDINARY)
    return _by_spread(of, machine, machine.parameters.index(name))


def _by_spread(of: SheetName, machine: Machine, at: int) -> Usual | None:
    """By the family's value and how far its machines differ; None where it has no such part."""
    middle, spread = float(machine.middle[at]), float(machine.spread[at])
    if not of.low <= middle <= of.high:
        return None
    if of.unit == "K":
        reach = max(DEVIATIONS * spread, KELVINS)
    elif middle > 0 and of.low >= 0:
        share = spread if machine.logarithmic[at] else spread / middle
        return _by_factor(middle, max(ORDINARY, exp(DEVIATIONS * share)))
    else:
        reach = max(DEVIATIONS * spread, abs(middle))
    near = (middle - reach, middle + reach)
    return Usual(middle, near, (middle - 2 * reach, middle + 2 * reach))


def speaks_of(name: str, machine: Machine | None) -> bool:
    """Whether a name of the sheet says anything about machines of this family."""
    of = SHEET[name]
    if machine is None or of.speaks == "plate":
        return of.speaks == "plate"
    if of.ordinary is not None:
        return True
    return name in (machine.controller if of.speaks == "controller" else machine.parameters)


def _by_factor(middle: float, factor: float) -> Usual | None:
    if middle <= 0:
        return None
    near = (middle / factor, middle * factor)
    return Usual(middle, near, (middle / factor**2, middle * factor**2))


def sheet_doubts(name: str, text: str, machine: Machine | None) -> Question | None:
    """Return a question where a value for the sheet is odd, None where it is ordinary.

    First are told the units and decimal points that would make it ordinary; where there
    are none, whether it is meant at all.

    Raises
    ------
    QuantityError
        When it is not understood, or cannot be and no slip explains it.
    """
    of, written = SHEET[name], written_value(name, text, bare=True)
    if of.unit == "class":
        return None
    known = usual(name, machine)
    if known is None:
        bounds = Expected(of.low, of.high, of.low, of.high, of.title)
        return None if bounds.likely(written.value) else doubts(written, bounds)
    low, high = (max(known.near[0], of.low), min(known.near[1], of.high))
    if Expected(of.low, of.high, low, high).likely(written.value):
        return None
    above = written.value > high
    ends = (known.far[0], known.near[1]) if above else (known.near[0], known.far[1])
    aimed = Expected(of.low, of.high, max(ends[0], of.low), min(ends[1], of.high), of.title)
    found = doubts(written, aimed)
    return found if found is not None else _strange(of, written, known)


def _strange(of: SheetName, written: Written, known: Usual) -> Question:
    if of.ordinary is not None:
        low, high = (significant(written.unit.from_si(end), SIGNIFICANT) for end in of.ordinary)
        usually = f"household machines have {low} to {high} {written.unit.shown}"
    else:
        usually = f"this family has about {family_words(of, known.middle)}"
    text = f"{written.text} {of.title} is unusual, {usually}: is it right?"
    return Question(text, (Alternative(written.text, written.value),))


def family_words(of: SheetName, value: float) -> str:
    """A family's value [SI] in the unit in which people write it.

    >>> family_words(SHEET["valve_coil_resistance"], 3800.0)
    '3.8 kΩ'
    """
    unit = of.assumed if of.unit not in {"ohm", "F"} else fitting_unit(value, of.unit)
    try:
        number, _, shown = show_quantity(value, unit, SIGNIFICANT).partition(" ")
    except QuantityError:
        return significant(value, SIGNIFICANT)
    tidy = number.rstrip("0").rstrip(".") if "." in number else number
    return f"{tidy} {shown}".strip()
