"""A text to the customer sent by the shop's own server: told before and after, never lost."""

from __future__ import annotations

import ssl
from dataclasses import dataclass
from datetime import datetime

from tubside.documents.mail import Envelope, mail_of
from tubside.documents.message import Message
from tubside.errors import MailError
from tubside.service.attachments import WORDS_LIMIT
from tubside.service.authors import Author
from tubside.service.jobs import record
from tubside.service.people import check_text
from tubside.service.viewing import view_of
from tubside.service.visit_records import MailAbout, MailTold
from tubside.service.visits.booked import booked_of
from tubside.service.visits.mail_sending import Sent, send
from tubside.service.visits.mail_setting import mail_password, mail_setting
from tubside.service.visits.messages import Words, texts_of
from tubside.service.visits.settings import caller_setting
from tubside.service.visits.shop_day import Shop
from tubside.service.writing import append, made_here
from tubside.store import beside
from tubside.store.tables import WORDS


@dataclass(frozen=True, slots=True)
class Asked:
    """Which text of a job is to go, and the times in it as they were shown."""

    job: str
    about: MailAbout
    begins: tuple[str, str]
    clock: Words
    day: Words


def send_mail(
    shop: Shop, asked: Asked, author: Author, trusted: ssl.SSLContext | None = None
) -> Sent | None:
    """Send one text; None where the same form came before, as it is sent once.

    The text is kept and the mail told as begun before anything goes out, so that neither
    a server that fails nor ours going down loses it.

    Raises
    ------
    MailError
        When no server is set, or the job has no visit with a window and an address.
    DocumentError
        When the customer's address is none.
    """
    with shop.store.reading() as opened:
        setting, caller = mail_setting(opened), caller_setting(opened)
    if setting is None:
        msg = "no mail server is set; send it from the phone's own mail program"
        raise MailError(msg)
    view = view_of(shop.store, shop.library, asked.job, advised=False)
    one = booked_of(view)
    texts = {} if one is None else texts_of(one, asked.begins, caller, asked.clock, asked.day)
    if one is None or asked.about not in texts or not one.email:
        msg = "this job has no booked window, or nobody's mail address; put them in first"
        raise MailError(msg)
    message, ref, now = texts[asked.about], author.fresh_id(), author.clock()
    mail = mail_of(message, Envelope(setting.sender, caller.shop, one.email, now, ref))
    password = mail_password(shop.store) if setting.user else ""
    if not _begun(shop, asked, author, (ref, message)):
        return None
    sent = send(setting, password, mail, trusted)
    told = MailTold(about=asked.about, state=sent.state, words=ref, why=sent.why)
    record(shop.store, asked.job, author, told)
    return sent


def try_mail(shop: Shop, now: datetime, ref: str, trusted: ssl.SSLContext | None = None) -> Sent:
    """Send a mail from the shop to itself.

    Raises
    ------
    MailError
        When no server is set.
    """
    with shop.store.reading() as opened:
        setting, caller = mail_setting(opened), caller_setting(opened)
    if setting is None:
        msg = "no mail server is set yet; keep one first"
        raise MailError(msg)
    message = Message("A try", "This shop's pages can send mail.")
    mail = mail_of(message, Envelope(setting.sender, caller.shop, setting.sender, now, ref))
    return send(setting, mail_password(shop.store) if setting.user else "", mail, trusted)


def _begun(shop: Shop, asked: Asked, author: Author, kept: tuple[str, Message]) -> bool:
    """Keep the text and that it is on its way; False when that was kept before."""
    ref, message = kept
    check_text("mail", message.body, WORDS_LIMIT)
    told = MailTold(about=asked.about, state="begun", words=ref)
    row = {"id": ref, "job": asked.job, "content": message.body, "kept_at": author.clock()}
    with shop.store.writing() as opened:
        _, rows = made_here(opened, asked.job, author, [told])
        if rows:
            beside.add(opened, WORDS, row)
            append(opened, asked.job, rows)
    return bool(rows)
