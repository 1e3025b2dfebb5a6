"""What the columns of a log are called, and in which units they stand."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tubside.physics.standard import STANDARD_GRAVITY

Array = NDArray[np.float64]

TIME_UNITS = {
    **dict.fromkeys(("s", "sec", "secs", "second", "seconds"), 1.0),
    **dict.fromkeys(("ms", "msec", "millis", "millisecond", "milliseconds"), 1e-3),
    **dict.fromkeys(("us", "µs", "μs", "usec", "micros", "microseconds"), 1e-6),
    **dict.fromkeys(("ns", "nsec", "nanos", "nanoseconds"), 1e-9),
}
PULL_UNITS = {
    **dict.fromkeys(("m/s2", "m/s^2", "m/s²", "m/s/s", "ms2", "ms-2", "m*s-2", "mps2"), 1.0),
    **dict.fromkeys(("g", "gs", "gn"), STANDARD_GRAVITY),
    **dict.fromkeys(("mg", "milli-g"), STANDARD_GRAVITY / 1e3),
}
TIME_WORDS = ("time", "timestamp", "elapsed", "t", "stamp", "zeit", "seconds", "date", "clock")
NOT_PULL = ("gyro", "rot", "mag", "orient", "alpha", "beta", "gamma", "abs", "total", "norm")
SHOWN = {1.0: "s", 1e-3: "ms", 1e-6: "µs", 1e-9: "ns"}
LIKELY_STEP_S = (0.5e-3, 0.5)
"""No phone writes a log with steps outside this; a factor of 1000 apart, so one unit fits."""
LIKELY_PULL = (0.6, 1.6)
"""A phone at rest or shaken feels this share of the standard pull, on the median."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column: "time", "x", "y", "z" or "" for anything else, and its unit if it is told."""

    role: str
    unit: float | None = None


def column_of(heading: str) -> Column:
    """What a heading says.

    >>> column_of("Time (ms)"), column_of("acc_y [g]"), column_of("gyro x")
    (Column(role='time', unit=0.001), Column(role='y', unit=9.80665), Column(role='', unit=None))
    """
    text = heading.strip().strip('"').casefold()
    inside = re.search(r"[\[({]\s*([^\])}]+?)\s*[\])}]", text)
    words = re.findall(r"[a-zµμ]+", re.sub(r"[\[({].*", "", text))
    unit = inside[1].replace(" ", "") if inside else ""
    if not words or any(word.startswith(NOT_PULL) for word in words):
        return Column("")
    names_time = words[0] in TIME_WORDS or words[-1] in TIME_WORDS or text in TIME_UNITS
    if names_time or words[0].startswith("time"):
        last = words[-1] if words[-1] in TIME_UNITS and len(words) > 1 else ""
        return Column("time", TIME_UNITS.get(unit or last or words[0]))
    for axis in "xyz":
        if axis in words or words[-1] in {f"a{axis}", f"acc{axis}", f"accel{axis}", f"gf{axis}"}:
            last = words[-1] if words[-1] in PULL_UNITS else ""
            return Column(axis, PULL_UNITS.get(unit or last))
    return Column("")


def time_unit(stamps: Array) -> float:
    """Seconds in one unit of rising stamps, guessed from the usual step between them.

    >>> time_unit(np.arange(9) * 10.0), time_unit(np.arange(9) * 0.01)
    (0.001, 1.0)
    """
    steps = np.diff(stamps)
    step = float(np.median(steps[steps > 0])) if (steps > 0).any() else 0.0
    fitting = [unit for unit in SHOWN if LIKELY_STEP_S[0] <= step * unit < LIKELY_STEP_S[1]]
    return fitting[0] if fitting else 0.0


def pull_unit(axes: Array) -> tuple[float, str]:
    """m/s² in one unit of three axes, guessed from the pull of the earth, and its name.

    >>> pull_unit(np.tile([0.0, 0.02, 1.0], (9, 1)))
    (9.80665, 'g')
    """
    if axes.shape[1] == 3:
        felt = float(np.median(np.linalg.norm(axes, axis=1)))
        for unit, name in ((1.0, "m/s²"), (STANDARD_GRAVITY, "g"), (STANDARD_GRAVITY / 1e3, "mg")):
            if LIKELY_PULL[0] <= felt * unit / STANDARD_GRAVITY < LIKELY_PULL[1]:
                return unit, name
    return 1.0, "m/s² without the earth's pull"


def pull_name(unit: float) -> str:
    """The name of a unit of acceleration."""
    return {1.0: "m/s²", STANDARD_GRAVITY: "g"}.get(unit, "mg")


def roles_without_words(table: Array) -> Sequence[str]:
    """Roles of columns that no heading names: the one that rises is time, then x, y, z."""
    steps = np.diff(table, axis=0)
    rising = (steps >= 0).mean(axis=0) + ((steps > 0).mean(axis=0) > 0.3)
    first = int(np.argmax(rising))
    if rising[first] < 1.9:
        return [""] * table.shape[1]
    axes = iter("xyz")
    return ["time" if n == first else next(axes, "") for n in range(table.shape[1])]
