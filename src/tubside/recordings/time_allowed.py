"""How long a recording may take to be read, by its size."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from tubside.recordings.opening import Declared

AT_LEAST_S, AT_MOST_S = 30.0, 1200.0
POINTS_PER_S = 12e6
"""Picture points read each second at the slowest: a fifth of 1080p at 30 a second."""
PER_SECOND_OF_SOUND = 2.0
UNSAID_S, UNSAID_RATE = 60.0, 60.0
"""Taken for a recording that does not say how long it is, as live recorders leave out."""


class Size(msgspec.Struct, frozen=True):
    """Seconds, points of all pictures together, and bytes of one recording."""

    seconds: float
    points: float
    bytes: int

    @classmethod
    def of(cls, said: Declared, count: int, *, pictures: bool) -> Size:
        """The size of a recording that declares this of itself, with ``count`` bytes."""
        seconds = UNSAID_S if said.seconds is None or said.seconds <= 0 else said.seconds
        shown = said.pictures or seconds * (said.rate or UNSAID_RATE)
        points = said.width * said.height * shown if pictures else 0.0
        return cls(seconds, points, count)


def allowed_s(sizes: Sequence[Size]) -> float:
    """Time for recordings of these sizes [s]: five times what reading them should take.

    Examples
    --------
    Ten seconds of 1080p at 30 pictures a second:

    >>> round(allowed_s([Size(10.0, 1920 * 1080 * 300, 20_000_000)]))
    102

    A minute of 4K is allowed all there is:

    >>> allowed_s([Size(60.0, 3840 * 2160 * 3600, 400_000_000)])
    1200.0
    """
    wanted = sum(s.points / POINTS_PER_S + PER_SECOND_OF_SOUND * s.seconds for s in sizes)
    return min(AT_LEAST_S + wanted, AT_MOST_S)
