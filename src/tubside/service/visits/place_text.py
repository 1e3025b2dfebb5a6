"""Coordinates as somebody types or pastes them."""

from __future__ import annotations

import re

from tubside.day.problem import Place
from tubside.errors import DayError

_DEGREES = r"(-?\d{1,3}(?:\.\d+)?)"
_PLAIN = re.compile(rf"\s*(?:geo:)?{_DEGREES}\s*[,;\s]\s*{_DEGREES}(?:[;?].*)?\s*")
_LINKED = (
    re.compile(rf"[?&#]m?lat={_DEGREES}.*?[?&]m?lon={_DEGREES}"),
    re.compile(rf"map=\d+(?:\.\d+)?/{_DEGREES}/{_DEGREES}"),
    re.compile(rf"@{_DEGREES},{_DEGREES}"),
    re.compile(rf"[?&]q={_DEGREES},{_DEGREES}"),
)
"""The ways a map's link may hold its place; what is marked comes before what is shown."""


def place_in(text: str) -> Place:
    """Return the place in "latitude, longitude", a geo: address (RFC 5870) or a map's link.

    Raises
    ------
    DayError
        When there is none, or no such place on earth.

    Examples
    --------
    >>> place_in("52.1043, 0.2511")
    Place(lat=52.1043, lon=0.2511)
    >>> place_in("https://maps.example/?mlat=52.1&mlon=0.25#map=15/52.2/0.3")
    Place(lat=52.1, lon=0.25)
    >>> place_in("geo:52.1,0.25;u=35")
    Place(lat=52.1, lon=0.25)
    """
    found = _PLAIN.fullmatch(text)
    for pattern in _LINKED:
        found = found or pattern.search(text)
    if found is None:
        msg = (
            f"'{text[:80]}' holds no place; write latitude and longitude such as "
            "52.1043, 0.2511, or paste a map's link that holds them"
        )
        raise DayError(msg)
    return Place(float(found[1]), float(found[2]))
