"""What must hold in a model's sheet and its fits; each check yields what is wrong."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from itertools import pairwise

from tubside.errors import QuantityError
from tubside.panel.fits import circle_of
from tubside.panel.problem import Wrong
from tubside.panel.schema import Fit, Panel
from tubside.panel.serials import compared
from tubside.panel.sheet_names import SHEET
from tubside.panel.sheet_values import stated, tolerance_of
from tubside.quantities.showing import significant
from tubside.strict_yaml import or_one_of

TOO_MUCH = 1.15
"""A heater or motor may take this much more than the rated power before the two contradict:
the deviation allowed to a motor's rated power is 15 % (IEC 60335-1, clause 10.1, table 1;
from memory), to a heater's less."""
APART = 0.2
"""A heater's ohms and its watts at the plate's voltage may differ by this share: 10 % for the
element and 5 % for cold wire (common practice, no source), and room for the meter."""
POWER_FACTOR = 1.1
"""Rated power may be above volts times amperes by rounding only."""


def sheet_problems(panel: Panel, parts: Collection[str] | None = None) -> Iterator[Wrong]:
    """Everything that is wrong in the sheet and the fits; ``parts`` are the pack's kinds."""
    values: dict[str, float] = {}
    for name, it in panel.sheet.items():
        if name not in SHEET:
            what = f"'sheet' names an unknown value '{name}'"
            yield Wrong(("sheet", name), what, or_one_of(name, SHEET))
            continue
        try:
            values[name] = stated(name, it.value)
        except QuantityError as wrong:
            yield _told(("sheet", name, "value"), f"sheet.{name}", wrong)
        try:
            tolerance_of(name, it.tolerance)
        except QuantityError as wrong:
            yield _told(("sheet", name, "tolerance"), f"sheet.{name}", wrong)
        if name in panel.machine or name in panel.controller:
            section = "machine" if name in panel.machine else "controller"
            what = f"'{name}' stands in 'sheet' and in '{section}'"
            yield Wrong(("sheet", name), what, f"remove it from '{section}', or from the sheet")
        if not all(text.isprintable() for text in (it.page, it.note)):
            mend = "write plain words on one line"
            yield Wrong(("sheet", name), f"'sheet.{name}' holds what cannot be printed", mend)
    yield from _contradictions(panel, values)
    yield from _fits(panel.fits, parts)


def _told(path: tuple[str, ...], where: str, wrong: QuantityError) -> Wrong:
    what, _, mend = str(wrong).partition("; ")
    return Wrong(path, f"'{where}': {what}", mend or "write a number with its unit")


def _contradictions(panel: Panel, values: Mapping[str, float]) -> Iterator[Wrong]:
    yield from _power_by_current(values)
    yield from _element(values)
    rated = values.get("rated_power")
    for name in ("heater_power", "running_power"):
        if rated is not None and values.get(name, 0.0) > TOO_MUCH * rated:
            title = SHEET[name].title
            what = f"{title} {_w(values[name])} is more than the rated power {_w(rated)}"
            yield Wrong(("sheet", name), what, "read both again: one is wrong")
    levels = [n for n in ("empty_level", "level_target", "overflow_level") if n in values]
    for low, high in pairwise(levels):
        if values[low] >= values[high]:
            what = f"{SHEET[low].title} is not below {SHEET[high].title}"
            yield Wrong(("sheet", low), what, "empty lies below full, and full below too much")
    load = panel.plate.load_kg
    if load is not None and "rated_load" in values and abs(load - values["rated_load"]) > 1e-6:
        what = f"the capacity is {values['rated_load']:g} kg here and {load:g} kg in 'plate'"
        yield Wrong(("sheet", "rated_load"), what, "keep one of them")


def _power_by_current(values: Mapping[str, float]) -> Iterator[Wrong]:
    """Rated power is at most voltage times current."""
    if not {"rated_voltage", "rated_power", "rated_current"} <= values.keys():
        return
    volts, amps = values["rated_voltage"], values["rated_current"]
    if values["rated_power"] > POWER_FACTOR * volts * amps:
        most = _w(volts * amps)
        what = f"{_w(values['rated_power'])} cannot be taken at {volts:g} V and {amps:g} A"
        yield Wrong(("sheet", "rated_power"), what, f"these give {most} at most; read all three")


def _element(values: Mapping[str, float]) -> Iterator[Wrong]:
    """The element's ohms against the watts of the plate, at the voltage of the plate."""
    if not {"rated_voltage", "heater_resistance"} <= values.keys():
        return
    volts, ohms = values["rated_voltage"], values["heater_resistance"]
    power = volts**2 / ohms
    element = f"an element of {significant(ohms, 3)} Ω takes {_w(power)} at {volts:g} V"
    watts, rated = values.get("heater_power"), values.get("rated_power")
    if watts is not None and abs(power - watts) > APART * watts:
        right = significant(volts**2 / watts, 3)
        what = f"{element}, and the power of the heater is {_w(watts)}"
        yield Wrong(("sheet", "heater_resistance"), what, f"{_w(watts)} would be {right} Ω")
    elif rated is not None and power > TOO_MUCH * rated:
        least = significant(volts**2 / rated, 3)
        what = f"{element}, more than the rated power {_w(rated)}"
        yield Wrong(("sheet", "heater_resistance"), what, f"it must have {least} Ω or more")


def _w(power: float) -> str:
    return f"{power:.0f} W"


def _fits(fits: list[Fit], parts: Collection[str] | None) -> Iterator[Wrong]:
    seen: set[tuple[str, str, str | None, str | None]] = set()
    for n, fit in enumerate(fits):
        if parts is not None and fit.part not in parts:
            what = f"the pack has no part kind '{fit.part}'"
            yield Wrong(("fits", n, "part"), what, or_one_of(fit.part, parts))
        texts = (fit.article, fit.serial_from, fit.serial_to, fit.superseded_by)
        if any(text is not None and not text.strip() for text in texts):
            yield Wrong(("fits", n), "a number of the fit is blank", "write it, or leave it out")
        if not all((text or " ").isprintable() for text in (*texts, fit.page, fit.note)):
            mend = "write plain words on one line"
            yield Wrong(("fits", n), "the fit holds what cannot be printed", mend)
        yield from _range(n, fit)
        same = (fit.part, fit.article, fit.serial_from, fit.serial_to)
        if same in seen:
            what = f"article '{fit.article}' is told twice for the same serial numbers"
            yield Wrong(("fits", n), what, "keep one of them")
        seen.add(same)
    for n, fit in enumerate(fits):
        round_trip = circle_of(fits, fit)
        if round_trip:
            what = f"articles supersede each other in a circle: {' > '.join(round_trip)}"
            yield Wrong(("fits", n, "superseded_by"), what, "the newest one has no successor")


def _range(n: int, fit: Fit) -> Iterator[Wrong]:
    if fit.serial_from is None or fit.serial_to is None:
        return
    order = compared(fit.serial_from, fit.serial_to)
    if order is None:
        what = f"'{fit.serial_from}' and '{fit.serial_to}' cannot be compared"
        mend = "letters and digits must stand in the same places"
        yield Wrong(("fits", n, "serial_to"), what, mend)
    elif order > 0:
        what = f"the serial range runs backwards, from {fit.serial_from} to {fit.serial_to}"
        yield Wrong(("fits", n, "serial_to"), what, "write the lower one first")
