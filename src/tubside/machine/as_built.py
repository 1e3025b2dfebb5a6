"""The family's machine as one model is built: its file's own numbers, and its sheet's."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from tubside.machine.quantities import QUANTITIES
from tubside.pack.fault_model import Machine
from tubside.pack.machine_compiling import with_own_values
from tubside.panel.schema import Panel, SheetValue
from tubside.panel.sheet_names import SHEET
from tubside.panel.sheet_values import source_words, stated, tolerance_of, value_words
from tubside.physics.electrics.heater import heater_ohms

DRUMS = frozenset({"spin", "tumble"})
"""A family with one of these stages has laundry in a drum."""
USUAL_LOAD = 0.5
"""Share of its capacity that people put in (common practice, no source)."""
LIMITS = 2.0
"""A maker's tolerance taken as so many standard deviations (common practice, no source)."""
SAYS_OF: Mapping[str, frozenset[str]] = {
    "thermistor_25": frozenset({"thermistor_ohms"}),
    "thermistor_b": frozenset({"thermistor_ohms"}),
    "rated_frequency": frozenset({"pump_current"}),
}
"""Constant -> the quantities whose formula it stands in."""


@dataclass(frozen=True, slots=True)
class Said:
    """One value that an expectation rests on: what it is, the value, where it is from."""

    title: str
    value: str
    source: str

    @property
    def words(self) -> str:
        """In one line: heater element 26 Ω from your service sheet, p. 12."""
        return f"{self.title} {self.value} {self.source}"


def has_drum(stages: Iterable[str]) -> bool:
    """Whether machines of a family with these stages have laundry in a drum."""
    return not DRUMS.isdisjoint(stages)


def as_built(machine: Machine, panel: Panel, *, drum: bool = True) -> Machine:
    """The machine of one model.

    Parameters
    ----------
    machine
        The family's.
    panel
        The model's file, checked.
    drum
        Whether the family has a drum, so that a capacity in dry laundry says what is in it.

    Notes
    -----
    The spread stays that of the family, except where the sheet states a tolerance: that is
    taken as two standard deviations. The plate's voltage is what formulas call nominal and
    what the house is taken to have; the lowest voltage at which the family works goes
    along with it. A heater's power at the plate's voltage gives its ohms where the sheet
    has none. A capacity puts half of it into the drum.

    Raises
    ------
    QuantityError
        When a value does not fit.
    """
    built = with_own_values(machine, panel.machine, panel.controller)
    if not panel.sheet:
        return built
    values = {name: stated(name, it.value) for name, it in panel.sheet.items()}
    constants = {n: v for n, v in values.items() if SHEET[n].speaks == "constant"}
    middle, spread = built.middle.copy(), built.spread.copy()
    for name, value in _middles(values, panel, drum=drum).items():
        if name not in machine.parameters:
            continue  # of a part that this family does not have
        at = machine.parameters.index(name)
        middle[at] = value
        known = tolerance_of(name, panel.sheet[name].tolerance) if name in panel.sheet else None
        if known is not None:
            size = known.plain or known.share * abs(value)
            spread[at] = size / LIMITS / (abs(value) if machine.logarithmic[at] else 1.0)
    return replace(
        built,
        middle=middle,
        spread=spread,
        controller={**built.controller, **_limits(values, panel, machine)},
        constants={**built.constants, **constants},
    )


def _limits(values: Mapping[str, float], panel: Panel, machine: Machine) -> dict[str, float]:
    """Limits of the controller that the sheet states, or that follow from its voltage [SI]."""
    limits = {n: v for n, v in values.items() if n in machine.controller}
    lowest = machine.controller.get("lowest_voltage")
    stated_lowest = "lowest_voltage" in {*limits, *panel.controller}
    if "rated_voltage" in values and lowest is not None and not stated_lowest:
        mains = float(machine.middle[machine.parameters.index("mains_voltage")])
        limits["lowest_voltage"] = lowest * values["rated_voltage"] / mains
    return limits


def _middles(values: Mapping[str, float], panel: Panel, *, drum: bool) -> dict[str, float]:
    """Parameter -> the value [SI] that the sheet gives it."""
    found: dict[str, float] = {}
    for name, parameter in _parameters(panel.sheet, panel.machine, drum=drum).items():
        value = values[name]
        if name == "heater_power":
            value = float(heater_ohms(value, values["rated_voltage"]))
        found[parameter] = USUAL_LOAD * value if name == "rated_load" else value
    return found


def _parameters(
    sheet: Mapping[str, SheetValue], own: Mapping[str, str], *, drum: bool
) -> dict[str, str]:
    """Name on the sheet -> the parameter that it sets."""
    found = {
        name: name for name in sheet if SHEET[name].speaks == "machine" and name != "rated_load"
    }
    if "rated_load" in sheet and drum and "load_mass" not in own:
        found["rated_load"] = "load_mass"
    if "rated_voltage" in sheet and "mains_voltage" not in own:
        found["rated_voltage"] = "mains_voltage"
    ohms_known = "heater_resistance" in sheet or "heater_resistance" in own
    if {"heater_power", "rated_voltage"} <= sheet.keys() and not ohms_known:
        found["heater_power"] = "heater_resistance"
    return found


def said_of(panel: Panel | None, quantity: str, *, drum: bool = True) -> tuple[Said, ...]:
    """What the model's sheet says of a quantity to be measured; () where it says nothing."""
    if panel is None or not panel.sheet:
        return ()
    needs = QUANTITIES[quantity].needs
    sets = _parameters(panel.sheet, panel.machine, drum=drum)
    names = [
        name
        for name in panel.sheet
        if sets.get(name) in needs or quantity in SAYS_OF.get(name, frozenset())
    ]
    return tuple(_said(name, panel.sheet[name]) for name in names)


def said_of_all(panel: Panel | None, *, drum: bool = True) -> tuple[Said, ...]:
    """Everything that the model's sheet changes in the simulated machine."""
    if panel is None:
        return ()
    sets = _parameters(panel.sheet, panel.machine, drum=drum)
    names = [n for n in panel.sheet if n in sets or SHEET[n].speaks in {"controller", "constant"}]
    return tuple(_said(name, panel.sheet[name]) for name in names)


def _said(name: str, value: SheetValue) -> Said:
    return Said(SHEET[name].title, value_words(value), source_words(value))
