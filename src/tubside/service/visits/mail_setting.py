"""The shop's own mail server: where it is, and where its password is kept.

The password is in no table, so no backup holds it: it comes from the variable
``TUBSIDE_MAIL_PASSWORD``, or else from a file beside the data that only its owner reads.
"""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import Annotated, Literal

import msgspec
from msgspec import Meta
from sqlalchemy import Connection

from tubside.documents.mail import checked_address
from tubside.errors import MailError
from tubside.service.shop_folder import default_folder
from tubside.store.opening import Store
from tubside.store.settings import drop_setting, keep_setting, setting

MAIL = "day/mail"
VARIABLE = "TUBSIDE_MAIL_PASSWORD"
FILE = "mail-password"
HERE = frozenset({"localhost", "127.0.0.1", "::1"})
"""Where a server of this very machine is, to which nothing need be encrypted."""
Security = Literal["starttls", "tls", "none"]
_HOST = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9.-]{0,250}[A-Za-z0-9])?|::1")


class MailSetting(msgspec.Struct, frozen=True, kw_only=True):
    """A mail server; ``user`` is empty where it asks for no login."""

    host: str
    port: Annotated[int, Meta(ge=1, le=65535)] = 587
    security: Security = "starttls"
    user: Annotated[str, Meta(max_length=254)] = ""
    sender: str


def mail_setting(opened: Connection) -> MailSetting | None:
    """Return the shop's mail server; None unless the office has set one."""
    text = setting(opened, MAIL)
    return None if text is None else msgspec.json.decode(text, type=MailSetting)


def keep_mail(store: Store, told: MailSetting, password: str = "") -> None:
    """Keep the server, and the password where one was typed.

    Raises
    ------
    MailError
        When a field cannot be, or the password would travel in the open.
    DocumentError
        When the address of the sender is none.
    """
    if not _HOST.fullmatch(told.host):
        msg = f"'{told.host[:60]}' is no name of a server; write it like mail.example.org"
        raise MailError(msg)
    if told.security == "none" and told.host not in HERE:
        msg = "without encryption only a server on this machine is used; choose STARTTLS or TLS"
        raise MailError(msg)
    if any(not sign.isprintable() for sign in told.user + password):
        msg = "name and password of the mail server are one line each; type them again"
        raise MailError(msg)
    kept = msgspec.structs.replace(told, sender=checked_address(told.sender))
    text = msgspec.json.encode(kept)
    try:
        msgspec.json.decode(text, type=MailSetting)
    except msgspec.DecodeError as wrong:
        msg = f"this mail server cannot be kept: {wrong}"
        raise MailError(msg) from None
    if password:
        _keep_password(password_file(store), password)
    with store.writing() as opened:
        keep_setting(opened, MAIL, text.decode())


def drop_mail(store: Store) -> None:
    """Forget the server and its password: mails then open in the phone's program again."""
    with store.writing() as opened:
        drop_setting(opened, MAIL)
    password_file(store).unlink(missing_ok=True)


def password_file(store: Store) -> Path:
    """Where the password is: beside the database, or in this machine's folder of data."""
    folder = store.file.parent if store.file is not None else default_folder()
    return folder / FILE


def has_password(store: Store) -> bool:
    """Whether there is a password, wherever it comes from."""
    return bool(os.environ.get(VARIABLE)) or password_file(store).exists()


def mail_password(store: Store) -> str:
    """Return the password; empty where there is none.

    Raises
    ------
    MailError
        When others on this machine can read its file, or nobody can.
    """
    if said := os.environ.get(VARIABLE):
        return said
    file = password_file(store)
    try:
        if file.stat().st_mode & 0o077:
            msg = f"others can read the file {FILE} of the data folder; change its mode to 600"
            raise MailError(msg)
        return file.read_text(encoding="utf-8").rstrip("\r\n")
    except FileNotFoundError:
        return ""
    except (OSError, UnicodeDecodeError) as wrong:
        msg = f"the file {FILE} of the data folder cannot be read; type the password again"
        raise MailError(msg) from wrong


def _keep_password(file: Path, password: str) -> None:
    fresh = file.with_name(f"{FILE}.new")
    try:
        file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        fresh.unlink(missing_ok=True)
        made = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(made, "w", encoding="utf-8") as written:
            written.write(password)
        fresh.replace(file)
    except OSError as wrong:
        msg = f"the password cannot be kept beside the data: {wrong.strerror or wrong}"
        raise MailError(msg) from wrong
