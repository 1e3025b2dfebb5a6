"""Lines of the form that calendars and cards share: ``NAME;PARAMETER=value:value``.

RFC 5545 (Desruisseaux 2009), sections 3.1 and 3.3.11, and RFC 6350 (Perreault 2011), sections
3.2 and 3.4: lines end with CR LF, hold at most 75 octets, and go on after a blank.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import UTC, datetime

from tubside.errors import DocumentError

OCTETS = 75
_NEVER = re.compile("[\x00-\x08\x0b-\x1f\x7f\ud800-\udfff]")
"""Control characters that no text value may hold (RFC 5545, 3.1), and halves of characters."""


def escaped(text: str) -> str:
    r"""Return ``text`` as a value of type TEXT.

    Examples
    --------
    >>> print(escaped("Hose; tap, then\na look \\ listen"))
    Hose\; tap\, then\na look \\ listen
    """
    clean = _NEVER.sub("", text.replace("\r\n", "\n").replace("\r", "\n"))
    clean = clean.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    return clean.replace("\n", "\\n")


def folded(line: str) -> str:
    """Return one line cut into pieces of at most 75 octets, never inside a character."""
    pieces, piece, room = [], "", OCTETS
    for letter in line:
        size = len(letter.encode())
        if size > room:
            pieces.append(piece)
            piece, room = " ", OCTETS - 1
        piece, room = piece + letter, room - size
    return "\r\n".join([*pieces, piece])


def joined(lines: Iterable[str]) -> str:
    """Return the lines folded, each with its end."""
    return "".join(f"{folded(line)}\r\n" for line in lines)


def in_utc(time: datetime) -> str:
    """Return a time as date-time in UTC (RFC 5545, 3.3.5, form 2).

    Raises
    ------
    DocumentError
        When the time does not say its zone.
    """
    if time.tzinfo is None:
        msg = f"the time {time} says no zone; hand it over with one"
        raise DocumentError(msg)
    return time.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
