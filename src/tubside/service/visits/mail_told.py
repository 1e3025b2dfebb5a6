"""What the facts of a job say of mails to the customer, and the words for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from tubside.service.views import Entry
from tubside.service.visit_records import MailAbout, MailState, MailTold, MailTrouble

ABOUT: Mapping[MailAbout, str] = {
    "booked": "It is booked",
    "between": "We come between",
    "late": "We are late",
}
STATES: Mapping[MailState, str] = {
    "begun": "begun; nobody knows yet whether it went",
    "sent": "sent",
    "failed": "not sent",
    "unsure": "perhaps sent: the line broke while it was handed over; ring to be sure",
}
MEND: Mapping[MailTrouble, str] = {
    "no-answer": "the mail server does not answer; is there signal, and are server and port right?",
    "not-safe": "the mail server offers no encryption we can trust; check port and kind, and ask "
    "who runs it for a valid certificate",
    "login": "the mail server does not take name and password; type both again in the settings",
    "password": "there is no password for the mail server; type it in the settings",
    "sender": "the mail server does not let us write from that address; check it in the settings",
    "recipient": "the mail server refuses the customer's address; ask for it again",
    "refused": "the mail server refused the mail; ask who runs it, or send it from the phone",
}
"""What went wrong and how to mend it."""


@dataclass(frozen=True, slots=True)
class Mailed:
    """A mail as its job tells it, with the moment of the last word on it."""

    told: MailTold
    at: datetime


def mailed_of(entries: Sequence[Entry]) -> list[Mailed]:
    """The mails of a job, each with the last word on it, in the order begun."""
    found: dict[str, Mailed] = {}
    for entry in entries:
        if isinstance(entry.body, MailTold) and entry.retracted_by is None:
            found[entry.body.words] = Mailed(entry.body, entry.at)
    return list(found.values())


def overtaken(entries: Sequence[Entry]) -> set[str]:
    """Ids of facts that a mail was begun, where a later one says what became of it."""
    alive = [e for e in entries if isinstance(e.body, MailTold) and e.retracted_by is None]
    last = {e.body.words: e.id for e in alive if isinstance(e.body, MailTold)}
    return {e.id for e in alive} - set(last.values())


def mail_words(body: MailTold) -> str:
    """A mail in a few words, with how to mend what went wrong.

    >>> mail_words(MailTold(about="late", state="sent", words="12345678"))
    'Mail “We are late”: sent'
    """
    mend = "" if body.why is None else f": {MEND[body.why]}"
    return f"Mail “{ABOUT[body.about]}”: {STATES[body.state]}{mend}"
