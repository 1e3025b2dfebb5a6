"""What a parameter of a machine and a limit of its controller are."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Place = Literal["site", "machine", "load"]


@dataclass(frozen=True, slots=True)
class Parameter:
    """One parameter: its SI unit ("1" is a plain number), where it belongs, what it is.

    ``low`` and ``high`` are the values that can be at all; fractions run from
    0 (shut, none, dead) to 1 (as built).
    """

    unit: str
    place: Place
    title: str
    low: float
    high: float


def fraction(place: Place, title: str) -> Parameter:
    """A parameter that runs from 0 to 1."""
    return Parameter("1", place, title, 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Limit:
    """A time-out or limit of a controller: its SI unit, what it is, the values it can have."""

    unit: str
    title: str
    low: float
    high: float
