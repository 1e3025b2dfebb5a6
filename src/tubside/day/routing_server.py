"""Travel times from a routing server of the shop's own choice with the open OSRM interface.

OSRM HTTP API, version v1 of the protocol, service ``table``: places in the address as
longitude,latitude, the answer as JSON with ``durations`` [s] and ``distances`` [m] row by
row, null where there is no way (project-osrm.org, HTTP server, general options and table
service). The addresses of customers go to that server: so it is nobody's unless set.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from urllib.parse import quote, urlsplit

import msgspec
import numpy as np

from tubside.day.problem import Floats, Place, Travel
from tubside.day.travel import great_circle_travel
from tubside.errors import RoutingServerError

Fetch = Callable[[str, float], bytes]
"""(address, seconds to wait) -> the answer's bytes; raises OSError when there is none."""
Rows = list[list[float | None]]
LONGEST = 7 * 24 * 3600.0
"""A trip longer than this [s] is no trip of a working day."""


@dataclass(frozen=True, slots=True)
class RoutingServer:
    """Where it is, as set by the shop: ``base`` such as http://127.0.0.1:5000."""

    base: str
    profile: str = "driving"
    timeout: float = 5.0  # s


class _Answer(msgspec.Struct):
    code: str
    durations: Rows | None = None
    distances: Rows | None = None
    message: str = ""


def table_address(server: RoutingServer, places: Sequence[Place]) -> str:
    """Return the address that asks for all times and lengths between the places.

    Raises
    ------
    RoutingServerError
        When the server is set to something that is no http address.

    Examples
    --------
    >>> table_address(RoutingServer("http://127.0.0.1:5000"), [Place(52.1, 0.25), Place(52, 0)])
    'http://127.0.0.1:5000/table/v1/driving/0.250000,52.100000;0.000000,52.000000?annotations=duration,distance'
    """
    parts = urlsplit(server.base)
    if parts.scheme not in {"http", "https"} or not parts.hostname or parts.query or parts.fragment:
        msg = f"the routing server {server.base!r} is no address; write http://host:port"
        raise RoutingServerError(msg)
    asked = ";".join(f"{place.lon:.6f},{place.lat:.6f}" for place in places)
    profile = quote(server.profile, safe="")
    return f"{server.base.rstrip('/')}/table/v1/{profile}/{asked}?annotations=duration,distance"


def parsed_table(answer: bytes, places: Sequence[Place], source: str) -> Travel:
    """Return the travel that an answer holds; pairs without a way go as the crow flies.

    Raises
    ------
    RoutingServerError
        When the answer is no table of these places.
    """
    try:
        read = msgspec.json.decode(answer, type=_Answer)
    except (msgspec.MsgspecError, UnicodeDecodeError) as error:
        msg = f"{source} gave no table: {error}; check that it speaks the OSRM interface"
        raise RoutingServerError(msg) from error
    if read.code != "Ok":
        msg = f"{source} answered {read.code} {read.message}; check its map and profile".strip()
        raise RoutingServerError(msg)
    stand_in, size = great_circle_travel(places), len(places)
    seconds = _square(read.durations, size, "durations", source)
    metres = _square(read.distances, size, "distances", source)
    if np.nanmax(seconds, initial=0.0) > LONGEST:
        msg = f"{source} gave a trip of more than a week; check the places and its map"
        raise RoutingServerError(msg)
    lacking = np.isnan(seconds) | np.isnan(metres)
    notes: tuple[str, ...] = ()
    if lacking.any():
        pairs = int(lacking.sum())
        notes = (f"{source} knows no way for {pairs} pairs of places; estimated for them",)
    return Travel(
        np.where(lacking, stand_in.seconds, seconds),
        np.where(lacking, stand_in.metres, metres),
        source=source,
        notes=notes,
    )


def routed_travel(places: Sequence[Place], server: RoutingServer, fetch: Fetch) -> Travel:
    """Ask the server; where it does not answer, estimate and say so in ``notes``.

    Raises
    ------
    RoutingServerError
        Only when what is set is no address: that is for the shop to mend.
    """
    address, source = table_address(server, places), urlsplit(server.base).netloc
    try:
        return parsed_table(fetch(address, server.timeout), places, source)
    except (OSError, RoutingServerError) as error:
        said = str(error) or type(error).__name__
        if not isinstance(error, RoutingServerError):
            said = f"{source} did not answer: {said}"
        note = f"{said}. Travel is estimated from the map instead"
        return replace(great_circle_travel(places), notes=(note,))


def _square(rows: Rows | None, size: int, what: str, source: str) -> Floats:
    """The table as numbers, NaN where there is no way."""
    if rows is None or len(rows) != size or any(len(row) != size for row in rows):
        msg = f"{source} gave no {what} between all {size} places; it must know annotations"
        raise RoutingServerError(msg)
    table = np.array(
        [[np.nan if cell is None else cell for cell in row] for row in rows], dtype=np.float64
    )
    if np.isinf(table).any() or (table < 0.0).any():
        msg = f"{source} gave {what} that cannot be; check its map"
        raise RoutingServerError(msg)
    return table
