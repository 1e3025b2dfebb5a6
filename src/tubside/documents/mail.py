"""A message to a customer as a mail that a server takes (RFC 5322, October 2008; MIME).

No value can add a header: whatever holds a line break is refused, by us and by ``email``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from email import policy
from email.headerregistry import Address
from email.message import EmailMessage
from email.utils import format_datetime

from tubside.documents.message import Message
from tubside.errors import DocumentError

SEVEN_BIT = policy.SMTP.clone(cte_type="7bit")
"""Lines end with CR LF, and every server takes it, one without 8BITMIME (RFC 6152) too."""
_SPEC = re.compile(
    r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+(?:\.[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+)*@"
    r"[A-Za-z0-9](?:[A-Za-z0-9-]*[A-Za-z0-9])?(?:\.[A-Za-z0-9-]+)*"
)
LONGEST = 254
"""Characters of an address (RFC 5321, 4.5.3.1.3, with RFC 3696 erratum 1690; from memory)."""


@dataclass(frozen=True, slots=True)
class Envelope:
    """From whom, to whom, when, and the name that tells one mail from another."""

    sender: str
    sender_name: str
    to: str
    at: datetime
    ref: str


def mail_of(message: Message, envelope: Envelope) -> EmailMessage:
    """Return the mail; write it with ``as_bytes()``.

    Raises
    ------
    DocumentError
        When an address is none, or a line break stands where a header would end.
    """
    sender, to = checked_address(envelope.sender), checked_address(envelope.to)
    mail = EmailMessage(policy=SEVEN_BIT)
    try:
        mail["From"] = Address(envelope.sender_name, addr_spec=sender)
        mail["To"] = Address(addr_spec=to)
        mail["Subject"] = message.subject
        mail["Date"] = format_datetime(envelope.at)
        mail["Message-ID"] = f"<{envelope.ref}@{sender.rpartition('@')[2]}>"
        mail["Auto-Submitted"] = "no"  # somebody tapped it (RFC 3834, section 5)
    except ValueError as wrong:
        msg = "a name or a subject of this mail has a line break; write it in one line"
        raise DocumentError(msg) from wrong
    mail.set_content(message.body)
    return mail


def checked_address(text: str) -> str:
    """Return a mail address in plain letters; DocumentError when it is none.

    Examples
    --------
    >>> checked_address(" ada@example.org ")
    'ada@example.org'
    """
    bare = text.strip()
    if len(bare) > LONGEST or not _SPEC.fullmatch(bare):
        msg = f"{text[:60]!r} is no mail address that a server takes; write name@place"
        raise DocumentError(msg)
    return bare
