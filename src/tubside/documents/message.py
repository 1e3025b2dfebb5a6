"""Short messages to a customer, as links that open in the phone's own programs.

``sms:`` after RFC 5724 (Wilde & Vaha-Sipila 2010), ``mailto:`` after RFC 6068 (Duerst,
Masinter & Zawinski 2010). Nothing is sent: the technician reads the text and presses send.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from urllib.parse import quote

from tubside.errors import DocumentError

_LOOKS = re.compile(r"[\s().\-/]")
_NUMBER = re.compile(r"\+?[0-9]{3,15}")
"""At most 15 digits: ITU-T E.164, clause 6.2.1 (from memory)."""
_ADDRESS = re.compile(r"[^@\s]+@[^@\s]+")


@dataclass(frozen=True, slots=True)
class Message:
    """What to tell a customer."""

    subject: str
    body: str

    def sms(self, number: str) -> str:
        """Return the link that opens the message program."""
        return sms_link(number, self.body)

    def mailto(self, address: str) -> str:
        """Return the link that opens the mail program."""
        return mailto_link(address, self.subject, self.body)


@dataclass(frozen=True, slots=True)
class Meeting:
    """What the texts name: who comes, when, for what. Times in words, as the shop writes them."""

    shop: str
    telephone: str
    machine: str  # such as "washing machine"
    day: str
    opens: str
    closes: str


def booked(meeting: Meeting) -> Message:
    """Return the text that a visit is booked."""
    when = f"on {meeting.day} between {meeting.opens} and {meeting.closes}"
    return Message(
        f"Your visit on {meeting.day}",
        f"We come to your {meeting.machine} {when}. "
        "Please see that somebody is in and that we can get to the machine. " + _closing(meeting),
    )


def on_the_way(meeting: Meeting, earliest: str, latest: str) -> Message:
    """Return the text that narrows down when we come."""
    return Message(
        f"We come today between {earliest} and {latest}",
        f"We expect to be with you between {earliest} and {latest} today, "
        f"for your {meeting.machine}. " + _closing(meeting),
    )


def delayed(meeting: Meeting, expected: str) -> Message:
    """Return the text that a promise will likely not be kept."""
    return Message(
        f"We are running late: about {expected}",
        f"We promised to come between {meeting.opens} and {meeting.closes} today. "
        f"That will not work out: we now expect to be with you at about {expected}. "
        f"We are sorry. If that does not suit you we find another time. " + _closing(meeting),
    )


def sms_link(number: str, body: str) -> str:
    """Return a link to write ``body`` to ``number`` (RFC 5724, section 2.2).

    Examples
    --------
    >>> sms_link("+1 510 555 0101", "hello there")
    'sms:+15105550101?body=hello%20there'
    """
    return f"sms:{dialled(number)}?body={_encoded(body)}"


def mailto_link(address: str, subject: str, body: str) -> str:
    r"""Return a link to write a mail (RFC 6068, section 2).

    Examples
    --------
    >>> mailto_link("infobot@example.com", "current-issue", "send current-issue\nsend index")
    'mailto:infobot@example.com?subject=current-issue&body=send%20current-issue%0D%0Asend%20index'
    """
    if not _ADDRESS.fullmatch(address):
        msg = f"{address!r} is no mail address; write name@place"
        raise DocumentError(msg)
    local, _, domain = address.rpartition("@")
    to = f"{quote(local, safe='!$*+-._~')}@{quote(domain, safe='.-')}"
    return f"mailto:{to}?subject={_encoded(subject)}&body={_encoded(body)}"


def dialled(number: str) -> str:
    """Return a telephone number as digits, with + before a country's code.

    Raises
    ------
    DocumentError
        When it is none.
    """
    bare = _LOOKS.sub("", number)
    if not _NUMBER.fullmatch(bare):
        msg = f"{number!r} is no telephone number; write digits, with + before a country's code"
        raise DocumentError(msg)
    return bare


def _encoded(text: str) -> str:
    """Percent-encoded UTF-8; line breaks are CR LF (RFC 6068, section 5)."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    return quote("\r\n".join(lines), safe="", errors="replace")


def _closing(meeting: Meeting) -> str:
    return f"To change it, ring {meeting.telephone}. {meeting.shop}"
