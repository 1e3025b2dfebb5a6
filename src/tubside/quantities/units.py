"""The units that the trade writes, by kind of quantity; looked up without pint.

A unit is read as ``SI value = factor * number + offset``. The kind wanted is always
known, so that ``F`` is Fahrenheit where a temperature is wanted and farad where a
capacitance is. Exact factors: Bureau International des Poids et Mesures, The
International System of Units, 9th ed. 2019, and NIST Special Publication 811, 2008,
appendix B.8 (from memory; held against pint in the tests).
"""

from __future__ import annotations

import math
import unicodedata
from dataclasses import dataclass, field

POUND = 0.45359237
GRAVITY = 9.80665
GALLON = 231 * 0.0254**3
IMPERIAL_GALLON = 4.54609e-3
WATER_COLUMN = 1000.0 * GRAVITY  # conventional metre of water, 4 C
CALCIUM_CARBONATE = 0.1000869  # kg/mol
LIME = 0.0560774  # kg/mol; 1 degree of German hardness is 10 g/m3 of CaO
GRAIN = 64.79891e-6


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit of a kind: its measure in SI and how pages write it."""

    shown: str
    factor: float
    offset: float = 0.0

    def to_si(self, number: float) -> float:
        """Return the SI value of ``number`` of this unit."""
        return number * self.factor + self.offset

    def from_si(self, value: float) -> float:
        """Return how many of this unit ``value`` is."""
        return (value - self.offset) / self.factor


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of quantity: what to call it, an example, its units by spelling.

    ``least`` is the smallest value that can be; ``mistaken`` are the units often put
    down in place of each other, in their shown form.
    """

    noun: str
    example: str
    units: dict[str, Unit]
    least: float = -math.inf
    mistaken: tuple[str, ...] = ()
    folded: dict[str, Unit] = field(default_factory=dict)

    def find(self, spelling: str) -> Unit | None:
        """Return the unit of this spelling, if need be with other capitals, or None."""
        return self.units.get(spelling) or self.folded.get(spelling.casefold())


def plain(text: str) -> str:
    """Return ``text`` with one code for each sign: one ohm, one micro, no narrow spaces."""
    return unicodedata.normalize("NFKC", text).replace("\N{MINUS SIGN}", "-").strip()


def _kind(
    words: tuple[str, str],
    spelled: dict[str, tuple[float, float] | float],
    mistaken: str = "",
    least: float = -math.inf,
    prefixed: dict[str, Unit] | None = None,
) -> Kind:
    """Make a kind from "shown, spelling, spelling": factor (or factor and offset)."""
    units: dict[str, Unit] = {}
    for spellings, measure in spelled.items():
        factor, offset = measure if isinstance(measure, tuple) else (measure, 0.0)
        names = [name.strip() for name in spellings.split(",")]
        units |= {plain(name): Unit(names[0], factor, offset) for name in names}
    folded: dict[str, Unit] = {}
    for spelling, unit in units.items():
        known = folded.setdefault(spelling.casefold(), unit)
        assert known.factor == unit.factor, f"{spelling} differs by its capitals"
    return Kind(*words, units | (prefixed or {}), least, tuple(mistaken.split()), folded)


def _prefixed(symbol: str, names: str, prefixes: str) -> dict[str, Unit]:
    """Make "kV, kvolt, ..." for each prefix; capitals matter, as m is not M."""
    words = {"p": "pico", "n": "nano", "µ": "micro", "m": "milli", "k": "kilo", "M": "mega"}
    powers = {"p": -12, "n": -9, "µ": -6, "m": -3, "k": 3, "M": 6, "G": 9}
    units: dict[str, Unit] = {}
    for prefix in prefixes:
        unit = Unit(prefix + symbol, float(f"1e{powers[prefix]}"))
        starts = {"µ": ("µ", "u"), "k": ("k", "K")}.get(prefix, (prefix,))
        units |= {plain(s + n): unit for s in starts for n in (symbol, *names.split())}
        units |= {words.get(prefix, prefix) + n: unit for n in names.split()}
    return units


_OHM = _prefixed("Ω", "ohm ohms Ohm Ohms", "mkMG")
_OHM |= {letter: _OHM[letter + "Ω"] for letter in "kKM"} | {"megohm": _OHM["MΩ"]}
_FARAD = _prefixed("F", "farad", "pnµm")
_FARAD |= {"mfd": _FARAD[plain("µF")]}

KINDS: dict[str, Kind] = {
    "m": _kind(
        ("a length", "850 mm"),
        {
            "m, metre, metres, meter, meters": 1.0,
            "cm": 0.01,
            "mm": 0.001,
            "in, inch, inches, \", ''": 0.0254,
            "ft, foot, feet, '": 0.3048,
        },
        "m cm mm in ft",
    ),
    "m**2": _kind(("an area", "20 cm²"), {"m², m^2, m**2": 1.0, "cm²": 1e-4, "mm²": 1e-6}),
    "m**3": _kind(
        ("a volume", "10 L"),
        {
            "L, litre, litres, liter, liters, ltr": 1e-3,
            "mL": 1e-6,
            "m³, m^3, m**3": 1.0,
            "gal, gallon, gallons, US gal": GALLON,
            "imp gal, UK gal": IMPERIAL_GALLON,
        },
        "L mL gal",
        0.0,
    ),
    "m**3/s": _kind(
        ("a flow", "6 L/min"),
        {
            "L/min, lpm, litre/min, litres/min, litre/minute, litres per minute": 1e-3 / 60,
            "L/s": 1e-3,
            "L/h": 1e-3 / 3600,
            "m³/h, m^3/h, m**3/h": 1 / 3600,
            "m³/s, m^3/s, m**3/s": 1.0,
            "mL/min": 1e-6 / 60,
            "gpm, gal/min, gallon/min, gallons/min, US gpm": GALLON / 60,
            "imp gpm, UK gpm": IMPERIAL_GALLON / 60,
        },
        "L/min gpm L/s",
        0.0,
    ),
    "Pa": _kind(
        ("a pressure", "350 kPa"),
        {
            "Pa": 1.0,
            "hPa": 100.0,
            "kPa": 1e3,
            "bar": 1e5,
            "mbar": 100.0,
            "psi, lb/in², lbf/in²": POUND * GRAVITY / 0.0254**2,
            "mH2O, m H2O, mwc, mwg": WATER_COLUMN,
            "cmH2O, cm H2O": WATER_COLUMN / 100,
            "mmH2O, mm H2O": WATER_COLUMN / 1000,
            "inH2O, in H2O": WATER_COLUMN * 0.0254,
        },
        "kPa bar psi mH2O Pa mbar",
        prefixed=_prefixed("Pa", "pascal", "M"),
    ),
    "s": _kind(
        ("a time", "90 s or 1:30"),
        {
            "s, sec, secs, second, seconds": 1.0,
            "min, mins, minute, minutes, m": 60.0,
            "h, hr, hrs, hour, hours": 3600.0,
        },
        "s min",
        0.0,
        _prefixed("s", "sec", "m"),
    ),
    "1/s": _kind(("a share a second", "1 %/min"), {"1/s": 1.0, "%/s": 0.01, "%/min": 0.01 / 60}),
    "rad/s": _kind(
        ("a speed of turning", "1200 rpm"),
        {
            "rpm, r/min, rev/min, 1/min, /min": math.tau / 60,
            "rad/s": 1.0,
            "rev/s, rps, Hz": math.tau,
        },
        "rpm rad/s rev/s",
        0.0,
    ),
    "Hz": _kind(("a frequency", "50 Hz"), {"Hz, 1/s": 1.0, "1/min, rpm, /min": 1 / 60}, "", 0.0),
    "kg": _kind(
        ("a mass", "7.5 kg"),
        {
            "kg, kilo, kilos": 1.0,
            "g, gram, grams": 1e-3,
            "lb, lbs, pound, pounds": POUND,
            "oz": POUND / 16,
        },
        "kg lb g",
        0.0,
    ),
    "N": _kind(("a force", "40 N"), {"N": 1.0, "kgf": GRAVITY, "lbf": POUND * GRAVITY}, "N kgf"),
    "N*m": _kind(
        ("a torque", "12 N m"),
        {
            "N m, Nm, N*m, N·m, N.m": 1.0,
            "lbf ft, lb ft, ft lb, lb-ft, ft-lb": POUND * GRAVITY * 0.3048,
        },
    ),
    "N/m": _kind(("a stiffness", "9 N/mm"), {"N/m": 1.0, "N/mm": 1e3, "kN/m": 1e3}, "N/m N/mm"),
    "m/s": _kind(("a speed of air", "8 m/s"), {"m/s": 1.0, "ft/min": 0.3048 / 60}, "", 0.0),
    "m/s**2": _kind(
        ("an acceleration", "9.8 m/s²"), {"m/s², m/s^2, m/s**2": 1.0, "g-force, g": GRAVITY}
    ),
    "J": _kind(("an energy", "0.8 kWh"), {"kWh": 3.6e6, "Wh": 3600.0, "kJ": 1e3, "J": 1.0}),
    "W": _kind(("a power", "2 kW"), {"W, watt, watts": 1.0}, "W kW", 0.0, _prefixed("W", "", "mk")),
    "V": _kind(
        ("a voltage", "230 V"),
        {"V, volt, volts, VAC, VDC": 1.0},
        "V mV",
        prefixed=_prefixed("V", "volt", "mk"),
    ),
    "A": _kind(
        ("a current", "0.4 A"),
        {"A, amp, amps, ampere": 1.0},
        "A mA",
        prefixed=_prefixed("A", "amp", "µm"),
    ),
    "ohm": _kind(
        ("a resistance", "2.1 kΩ"),
        {"Ω, ohm, ohms, R": 1.0},
        "Ω kΩ MΩ mΩ",
        0.0,
        _OHM,
    ),
    "F": _kind(
        ("a capacitance", "16 µF"),
        {"F, farad": 1.0},
        "µF nF pF",
        0.0,
        _FARAD,
    ),
    "H": _kind(
        ("an inductance", "9.5 mH"),
        {"H, henry": 1.0},
        "mH H µH",
        0.0,
        _prefixed("H", "henry", "µm"),
    ),
    "mol/m**3": _kind(
        ("a water hardness", "2.5 mmol/L or 14 °dH"),
        {
            "mmol/L, mol/m³, mol/m^3, mol/m**3": 1.0,
            "°dH, dH": 0.01 / LIME,
            "°fH, fH": 0.01 / CALCIUM_CARBONATE,
            "mg/L, ppm, mg/L CaCO3": 1e-3 / CALCIUM_CARBONATE,
            "gpg": GRAIN / GALLON / CALCIUM_CARBONATE,
            "°Clark, °e": GRAIN / IMPERIAL_GALLON / CALCIUM_CARBONATE,
        },
        "mmol/L °dH °fH mg/L gpg",
        0.0,
    ),
    "K": _kind(
        ("a temperature", "43 °C"),
        {
            "°C, C, degC, deg C, Celsius": (1.0, 273.15),
            "°F, F, degF, deg F, Fahrenheit": (5 / 9, 273.15 - 32 * 5 / 9),
            "K, kelvin": 1.0,
        },
        "°C °F",
        0.0,
    ),
    "K/s": _kind(
        ("a rate of warming", "1.4 K/min"),
        {"K/min, °C/min, C/min": 1 / 60, "K/s": 1.0, "°F/min, F/min": 5 / 9 / 60},
    ),
    "1": _kind(("a plain number", "0.8 or 80 %"), {"%, percent": 0.01, "ppm": 1e-6}, "%"),
}
"""SI unit as pint writes it -> its kind. The first kind that knows a spelling owns it."""

DIFFERENCE = _kind(
    ("a temperature difference", "4 K"),
    {
        "K, kelvin, °C, C, degC, deg C, Celsius": 1.0,
        "°F, F, degF, deg F, Fahrenheit": 5 / 9,
    },
    "K °F",
)
"""How far two temperatures lie apart: no zero point."""


def kind_of(unit: str, *, delta: bool = False) -> Kind | None:
    """Return the kind of an SI unit, or None where only pint knows it."""
    return DIFFERENCE if delta and unit == "K" else KINDS.get(unit)


def owner_of(spelling: str) -> str | None:
    """Return the SI unit of the first kind that shows a spelling, else knows it, or None."""
    tidy = plain(spelling)
    found = {si: unit for si, kind in KINDS.items() if (unit := kind.find(tidy))}
    return next((si for si, unit in found.items() if plain(unit.shown) == tidy), None) or next(
        iter(found), None
    )
