"""The shape of what a pack says about the machine itself, and how causes move it.

Values are texts with a unit ("350 kPa", "14 C"); :mod:`tubside.pack.stated` reads them.
The names are those of :mod:`tubside.pack.parameters`.
"""

from __future__ import annotations

from tubside.pack.record import Record, Source


class MachineValue(Record, frozen=True, kw_only=True):
    """What a sound machine of the family has, and how machines differ.

    A spread without unit is the standard deviation of the logarithm (the value is
    then the median), one with a unit the standard deviation about the mean.
    """

    value: str
    source: Source
    spread: str = "0"


class ControllerLimit(Record, frozen=True, kw_only=True):
    """A time-out or a limit by which the controller notices a condition."""

    value: str
    source: Source


class Move(Record, frozen=True, kw_only=True):
    """How far a cause moves one parameter: times, plus or to, with a spread.

    ``times`` is a median, its spread the standard deviation of the logarithm; ``plus``
    and ``to`` are means, their spread the standard deviation in the parameter's unit.
    ``share`` is the chance that the cause makes this move at all (a pump fails with its
    winding broken, or without).
    """

    times: float | None = None
    plus: str | None = None
    to: str | None = None
    spread: str = "0"
    share: float = 1.0
