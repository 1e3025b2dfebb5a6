"""One mail to the shop's own server (SMTP, RFC 5321), and what became of it."""

from __future__ import annotations

import smtplib
import ssl
from dataclasses import dataclass
from email.message import EmailMessage

from tubside.service.visit_records import MailState, MailTrouble
from tubside.service.visits.mail_setting import MailSetting

PATIENCE = 10.0
"""Seconds to wait for each answer of the server."""
OK = 250
TAKEN = (OK, 251)
"""Answers to a recipient that mean yes (RFC 5321, 4.3.2)."""
_OURSELVES = "[127.0.0.1]"
"""How we greet: an address literal where no full name is known (RFC 5321, 4.1.4)."""


@dataclass(frozen=True, slots=True)
class Sent:
    """What became of a mail: ``unsure`` where the line broke while it was being handed over."""

    state: MailState
    why: MailTrouble | None = None


def send(
    setting: MailSetting, password: str, mail: EmailMessage, trusted: ssl.SSLContext | None = None
) -> Sent:
    """Hand one mail over; never raises for what a server does.

    ``trusted`` says whose certificates count, those of this machine if none is given.
    """
    if setting.user and not password:
        return Sent("failed", "password")
    try:
        with _greeted(setting, trusted or ssl.create_default_context()) as server:
            if setting.user:
                server.login(setting.user, password)
            return _handed_over(server, setting.sender, str(mail["To"]), mail.as_bytes())
    except (smtplib.SMTPException, OSError, UnicodeError) as wrong:
        return Sent("failed", _trouble(wrong))


def _trouble(wrong: Exception) -> MailTrouble:
    """Why nothing was handed over; SMTPException is an OSError, so it is asked first."""
    match wrong:
        case ssl.SSLError() | smtplib.SMTPNotSupportedError():
            return "not-safe"
        case smtplib.SMTPAuthenticationError():
            return "login"
        case smtplib.SMTPException() if not isinstance(wrong, smtplib.SMTPServerDisconnected):
            return "refused"
        case _:
            return "no-answer"


def _greeted(setting: MailSetting, trusted: ssl.SSLContext) -> smtplib.SMTP:
    where = (setting.host, setting.port, _OURSELVES)
    if setting.security == "tls":
        return smtplib.SMTP_SSL(*where, timeout=PATIENCE, context=trusted)
    server = smtplib.SMTP(*where, timeout=PATIENCE)
    try:
        if setting.security == "starttls":
            server.starttls(context=trusted)
    except BaseException:
        server.close()
        raise
    return server


def _handed_over(server: smtplib.SMTP, sender: str, to: str, content: bytes) -> Sent:
    server.ehlo_or_helo_if_needed()
    if server.mail(sender)[0] != OK:
        return Sent("failed", "sender")
    if server.rcpt(to)[0] not in TAKEN:
        return Sent("failed", "recipient")
    try:
        code, _ = server.data(content)
    except smtplib.SMTPDataError:
        return Sent("failed", "refused")
    except (smtplib.SMTPException, OSError):
        return Sent("unsure")
    return Sent("sent") if code == OK else Sent("failed", "refused")
