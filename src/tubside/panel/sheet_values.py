"""Values of a model's sheet: read into SI units, held against what can be, told in words."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from tubside.errors import QuantityError
from tubside.panel.schema import Fit, SheetFrom, SheetValue
from tubside.panel.sheet_names import CLASSES, SHEET, SheetName
from tubside.quantities import Written, read_quantity, read_written
from tubside.quantities.units import Unit

FROM: Mapping[SheetFrom, str] = {
    "sheet": "from your service sheet",
    "plate": "from the type plate",
    "seen": "from your own observation",
    "hearsay": "from hearsay",
}
_RANGE = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(?:V\s*)?[-\N{EN DASH}~]\s*(\d+(?:\.\d+)?)\s*V\s*")
_SHARE = re.compile(r"\s*(?:±|\+/-)?\s*(\d+(?:[.,]\d+)?)\s*%\s*")
WIDEST_SHARE, WIDEST_RANGE = 0.5, 1.25


@dataclass(frozen=True, slots=True)
class Tolerance:
    """How far good ones may lie from the value: a share of it, or [SI]."""

    share: float = 0.0
    plain: float = 0.0


def written_value(name: str, text: str, *, bare: bool = False) -> Written:
    """What somebody wrote for a name of the sheet, not yet held against what can be.

    ``bare`` lets a number without unit take that of the example. A plate's range of
    voltage ("220-240 V") stands for its middle.

    Raises
    ------
    QuantityError
        When it is not understood or of another kind.

    Examples
    --------
    >>> written_value("rated_voltage", "220-240 V").value
    230.0
    >>> written_value("valve_coil_resistance", "3k8").text
    '3k8'
    """
    of = SHEET[name]
    if of.unit == "class":
        return _protection(text)
    ends = _RANGE.fullmatch(text) if name == "rated_voltage" else None
    if ends is not None:
        low, high = float(ends[1]), float(ends[2])
        if not 0 < low < high <= WIDEST_RANGE * low:
            msg = f"'{text}' is no range of one plate; write it as 220-240 V"
            raise QuantityError(msg)
        middle = (low + high) / 2
        return Written(text.strip(), middle, Unit("V", 1.0), middle, "V")
    return read_written(text, of.unit, assumed=of.assumed if bare else "")


def stated(name: str, text: str) -> float:
    """The value [SI] of a name of the sheet.

    Raises
    ------
    QuantityError
        As :func:`written_value`, and when no sound machine can have it.

    Examples
    --------
    >>> stated("valve_coil_resistance", "3.8 kΩ")
    3800.0
    """
    of, written = SHEET[name], written_value(name, text)
    if not of.low <= written.value <= of.high:
        raise QuantityError(impossible(of, written))
    return written.value


def impossible(of: SheetName, written: Written) -> str:
    """Why a value cannot be, and how to mend it."""
    example = read_written(of.example, of.unit).unit
    low, high = (f"{example.from_si(end):.3g}" for end in (of.low, of.high))
    limits = f"{low} to {high} {example.shown}".rstrip()
    return (
        f"'{written.text}' cannot be: {of.title} lies from {limits}; "
        f"look at the unit, as in {of.example}"
    )


def tolerance_of(name: str, text: str | None) -> Tolerance | None:
    """The tolerance of a value, None where none is stated.

    Raises
    ------
    QuantityError
        When it is no share and no quantity of the value's kind, or has no place here.

    >>> tolerance_of("heater_resistance", "± 5 %")
    Tolerance(share=0.05, plain=0.0)
    """
    if text is None:
        return None
    of = SHEET[name]
    if of.speaks != "machine" or of.ordinary is not None:
        msg = f"a tolerance says nothing about {of.title}; leave it out"
        raise QuantityError(msg)
    share = _SHARE.fullmatch(text)
    if share is not None:
        size = float(share[1].replace(",", ".")) / 100
        if not 0 < size <= WIDEST_SHARE:
            msg = f"the tolerance '{text}' cannot be; write more than 0, at most 50 %"
            raise QuantityError(msg)
        return Tolerance(share=size)
    plain = text.strip().lstrip("±").removeprefix("+/-").strip()
    size = read_quantity(plain, of.unit, delta=of.unit == "K")
    if size <= 0:
        msg = f"the tolerance '{text}' cannot be; write more than 0, such as 5 %"
        raise QuantityError(msg)
    return Tolerance(plain=size)


def kept_text(name: str, text: str) -> str:
    """A value as it is kept, its unit always with it.

    >>> kept_text("valve_coil_resistance", "3k8"), kept_text("spin_speed", "1400")
    ('3.8 kΩ', '1400 rpm')
    """
    written = written_value(name, text, bare=True)
    if "-" in written.text[1:] or "\N{EN DASH}" in written.text or SHEET[name].unit == "class":
        return written.text
    return f"{written.number:.10g} {written.unit.shown}".strip()


def source_words(known: SheetValue | Fit) -> str:
    """Where something is known from.

    >>> source_words(SheetValue(value="26 Ω", known_from="sheet", page="12"))
    'from your service sheet, p. 12'
    """
    page = f"p. {known.page}" if known.page.isdigit() else known.page
    return FROM[known.known_from] + (f", {page}" if page else "")


def value_words(known: SheetValue) -> str:
    """A value with its tolerance.

    >>> value_words(SheetValue(value="26 Ω", known_from="sheet", tolerance="5 %"))
    '26 Ω ± 5 %'
    """
    if known.tolerance is None:
        return known.value
    return f"{known.value} ± {known.tolerance.lstrip('± ')}"


def _protection(text: str) -> Written:
    word = text.strip().upper().removeprefix("CLASS").strip()
    word = {"1": "I", "2": "II"}.get(word, word)
    if word not in CLASSES:
        msg = f"'{text[:20]}' is no class of protection of a household machine; write I or II"
        raise QuantityError(msg)
    number = float(CLASSES.index(word) + 1)
    return Written(word, number, Unit("", 1.0), number, "class")
