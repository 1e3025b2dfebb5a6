"""What people state about a machine, read into SI units and held against its limits."""

from __future__ import annotations

from tubside.errors import QuantityError
from tubside.pack.fault_model import PLUS, TIMES, TO
from tubside.pack.machine_schema import Move
from tubside.pack.parameters import Limit, Parameter
from tubside.quantities import read_quantity
from tubside.strict_yaml.declared import number


class UnfitError(QuantityError):
    """A stated value does not fit its parameter: what is wrong and how to mend it."""

    def __init__(self, what: str, mend: str) -> None:
        self.what, self.mend = what, mend
        super().__init__(f"{what}; {mend}")


def stated_value(text: str, of: Parameter | Limit) -> float:
    """The value [SI] that ``text`` states for a parameter or a limit.

    Raises
    ------
    UnfitError
        When it is no quantity of that kind, or outside what can be at all.

    Examples
    --------
    >>> from tubside.pack.parameters import PARAMETERS
    >>> stated_value("350 kPa", PARAMETERS["cold_pressure"])
    350000.0
    """
    value = _read(text, of)
    if not of.low <= value <= of.high:
        unit = "" if of.unit == "1" else f" {of.unit}"
        what = f"'{text}' cannot be: {of.title} lies from {of.low:g} to {of.high:g}{unit}"
        raise UnfitError(what, "write a value within these limits")
    return value


def stated_spread(text: str, value: float, of: Parameter) -> tuple[float, bool]:
    """How machines differ about ``value`` [SI]: the spread, and whether it is logarithmic.

    Raises
    ------
    UnfitError
        When it is negative, no quantity of that kind, or logarithmic where it cannot be.

    Examples
    --------
    >>> from tubside.pack.parameters import PARAMETERS
    >>> stated_spread("0.35", 3.5e5, PARAMETERS["cold_pressure"])
    (0.35, True)
    >>> stated_spread("4 K", 287.15, PARAMETERS["cold_temperature"])
    (4.0, False)
    """
    plain = number(text)
    if plain is None:
        return _not_negative(text, _difference(text, of)), False
    if plain == 0.0:
        return 0.0, False
    if of.unit == "K" or of.low < 0.0:
        what = f"the spread '{text}' has no unit"
        raise UnfitError(what, f"write it in {of.unit} or a unit like it")
    if value <= 0.0 and of.unit == "1":
        return _not_negative(text, plain), False
    if value <= 0.0:
        what = f"the spread '{text}' is a share of a value that is 0"
        raise UnfitError(what, f"write it in {of.unit} or a unit like it")
    return _not_negative(text, plain), True


def stated_move(move: Move, of: Parameter) -> tuple[int, float, float]:
    """How a cause moves a parameter: TIMES, PLUS or TO, the value and its spread [SI].

    Raises
    ------
    UnfitError
        When not exactly one way is stated, or its numbers do not fit the parameter.
    """
    ways = [way for way in ("times", "plus", "to") if getattr(move, way) is not None]
    if len(ways) != 1:
        said = f"has {' and '.join(ways)}" if ways else "says nothing"
        what = f"the move {said}"
        raise UnfitError(what, "write one of times, plus and to")
    if not 0.0 < move.share <= 1.0:
        what = f"the share {move.share:g} is no chance"
        raise UnfitError(what, "write a number above 0, at most 1")
    if move.times is not None:
        return TIMES, _factor(move.times, of), _factor_spread(move.spread)
    spread = _not_negative(move.spread, _difference(move.spread, of))
    if move.plus is not None:
        return PLUS, _step(move.plus, of), spread
    return TO, stated_value(str(move.to), of), spread


def _factor(times: float, of: Parameter) -> float:
    if of.unit == "K" or of.low < 0.0:
        why = "is a temperature" if of.unit == "K" else "may be negative"
        what = f"'times' moves what {why}"
        raise UnfitError(what, "write plus or to")
    if times <= 0.0:
        what = f"'times' is {times:g}"
        raise UnfitError(what, "write a number above 0, or to: 0")
    return times


def _factor_spread(text: str) -> float:
    plain = number(text)
    if plain is None:
        what = f"with 'times' the spread '{text}' is no plain number"
        raise UnfitError(what, "write the standard deviation of the logarithm, such as 0.3")
    return _not_negative(text, plain)


def _step(text: str, of: Parameter) -> float:
    step = _difference(text, of)
    widest = of.high - of.low
    if abs(step) > widest:
        what = f"'{text}' cannot be added: {of.title} has a range of {widest:g} {of.unit}"
        raise UnfitError(what, "write less")
    return step


def _difference(text: str, of: Parameter) -> float:
    """A difference of two values [SI]: it may be negative where no value may."""
    size = text.strip()
    if size.startswith("-"):
        return -_read(size[1:], of, delta=True)
    return _read(size, of, delta=True)


def _not_negative(text: str, spread: float) -> float:
    if spread < 0.0:
        what = f"the spread '{text}' is negative"
        raise UnfitError(what, "write 0 or more")
    return spread


def _read(text: str, of: Parameter | Limit, *, delta: bool = False) -> float:
    plain = number(text)
    if plain == 0.0 and (delta or of.unit != "K"):
        return 0.0  # nothing is nothing in any unit, but for a temperature
    try:
        return read_quantity(text, of.unit, delta=delta and of.unit == "K")
    except QuantityError as wrong:
        what, _, wanted = str(wrong).partition("; wanted is ")
        raise UnfitError(what, f"write {wanted}") from wrong
