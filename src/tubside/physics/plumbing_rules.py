"""What plumbing codes ask of a laundry's supply and drain, by country, as data.

None of these is a verdict: codes change, differ by town, and have the last word in a
licensed copy. Each rule says where it was found and how well it is known; where nothing was
found there is no rule, and the answer is empty.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tubside.physics.standard import STANDARD_GRAVITY
from tubside.physics.validity import Floats, Number, within

Mark = Literal["published", "second hand", "common practice, no source"]
INCH = 0.0254
EVERYWHERE = ""


@dataclass(frozen=True, slots=True)
class Rule:
    """A band that a code sets: SI values, ``None`` where it sets no end.

    ``country`` is an ISO 3166 code, or empty for an international standard. ``mark``:
    *published* if the code's text or its publisher's own account of it was read, *second
    hand* if somebody else's account was.
    """

    subject: str
    country: str
    low: float | None
    high: float | None
    unit: str
    source: str
    clause: str
    mark: Mark
    note: str = ""


@dataclass(frozen=True, slots=True)
class AirGap:
    """Least height of an outlet over the highest water: the more of ``least`` and bores."""

    country: str
    least: float
    bores: float
    source: str
    clause: str
    mark: Mark
    note: str = ""


UPC = "Uniform Plumbing Code 2018 and 2024"
STANDPIPE = "standpipe above its trap's weir"
TRAP = "standpipe trap above the floor"
STATIC = "static pressure at an outlet"
HOSE = "working pressure of a hose set"
LEAST = "least pressure at the inlet"
TUB_FLOW = "flow of a laundry tub's tap"

RULES: tuple[Rule, ...] = (
    Rule(STANDPIPE, "US", 18 * INCH, 30 * INCH, "m", UPC, "804.1", "published"),
    Rule(TRAP, "US", 6 * INCH, 18 * INCH, "m", UPC, "804.1", "published"),
    Rule(
        STANDPIPE,
        "US",
        18 * INCH,
        42 * INCH,
        "m",
        "International Plumbing Code",
        "802.4.3 (802.4 in older editions)",
        "second hand",
        "which of the two codes holds is for the state or town",
    ),
    Rule(STANDPIPE, "CA", 0.6, None, "m", "Ontario Building Code", "section 7", "second hand"),
    Rule(STATIC, "AU", None, 500e3, "Pa", "AS/NZS 3500.1:2015", "3.3.4", "second hand"),
    Rule(STATIC, "NZ", None, 500e3, "Pa", "AS/NZS 3500.1:2015", "3.3.4", "second hand"),
    Rule(
        TUB_FLOW,
        "AU",
        None,
        9e-3 / 60,
        "m3/s",
        "AS/NZS 3500.1:2015, as told in notices of a state's building authority",
        "flow rates",
        "second hand",
        "a tap over a tub, not a machine's inlet",
    ),
    Rule(
        HOSE,
        EVERYWHERE,
        None,
        1e6,
        "Pa",
        "IEC 61770:2008",
        "1 (scope)",
        "published",
        "the same in ISO 6804:2023: hoses of type 1 to 70 C, 2 to 90 C, 3 to 60 C",
    ),
    Rule(
        LEAST,
        EVERYWHERE,
        30e3,
        None,
        "Pa",
        "type plates of appliances; 50 kPa on many",
        "",
        "common practice, no source",
        "no standard was found",
    ),
)

AIR_GAPS: tuple[AirGap, ...] = (
    AirGap(
        "GB",
        0.020,
        2.0,
        "Water Regulations UK, guidance on the Water Fittings Regulations 1999",
        "glossary, air gap",
        "published",
        "and the jet within 15 degrees of the vertical",
    ),
    AirGap("AU", 0.025, 2.0, "AS/NZS 3500.1", "glossary", "second hand"),
    AirGap("NZ", 0.025, 2.0, "AS/NZS 3500.1", "glossary", "second hand"),
    AirGap("US", INCH, 2.0, "plumbing codes, as told by others", "", "second hand"),
)


def rules_for(country: str, subject: str) -> tuple[Rule, ...]:
    """Rules of a country (ISO 3166 code) and those of everywhere; empty where none was found.

    Two rules for one subject mean two codes: both are to be shown.

    Examples
    --------
    >>> [(round(r.low, 3), round(r.high, 3)) for r in rules_for("US", STANDPIPE)]
    [(0.457, 0.762), (0.457, 1.067)]
    >>> rules_for("NZ", STANDPIPE)
    ()
    """
    return tuple(
        rule for rule in RULES if rule.country in (country, EVERYWHERE) and rule.subject == subject
    )


def keeps(rule: Rule, value: Number) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Whether a value [SI] lies in a rule's band, ends included.

    Examples
    --------
    >>> bool(keeps(rules_for("US", STANDPIPE)[0], 0.9))
    False
    """
    given = np.asarray(value, dtype=float)
    low = -np.inf if rule.low is None else rule.low
    high = np.inf if rule.high is None else rule.high
    return np.asarray((given >= low) & (given <= high))


def air_gap_for(country: str) -> AirGap | None:
    """The rule on air gaps of a country (ISO 3166 code), or None where none was found.

    Examples
    --------
    >>> air_gap_for("GB").least
    0.02
    """
    return next((gap for gap in AIR_GAPS if gap.country == country), None)


def least_gap(rule: AirGap, bore: Number) -> Floats:
    """Least air gap [m] for an outlet of a bore [m]: the more of a fixed height and bores.

    Examples
    --------
    >>> [round(float(least_gap(air_gap_for("AU"), bore)), 3) for bore in (0.010, 0.015)]
    [0.025, 0.03]
    """
    wide = within("bore", bore, 0.0, 0.2, "m")
    return np.asarray(np.maximum(rule.least, rule.bores * wide))


def head_of_pressure(pressure: Number, density: Number = 998.2) -> Floats:
    """Height of water [m] that a pressure [Pa] holds: p/(rho g).

    Examples
    --------
    >>> round(float(head_of_pressure(500e3)), 2)
    51.08
    """
    return np.asarray(np.asarray(pressure) / (np.asarray(density) * STANDARD_GRAVITY))
