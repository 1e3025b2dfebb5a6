"""Mail by the shop's own server: one text of a visit, and where that server is."""

from __future__ import annotations

import re
from typing import get_args

from starlette.requests import Request
from starlette.responses import Response

from tubside.errors import MailError
from tubside.service.visit_records import MailAbout
from tubside.service.visits.mail_setting import MailSetting, Security, keep_mail
from tubside.service.visits.mail_told import MEND
from tubside.service.visits.mailed import Asked, send_mail, try_mail
from tubside.service.visits.shop_day import Shop
from tubside.web.pages.clock_words import hhmm, hhmm_day
from tubside.web.pages.desk import Desk, Form, fresh_id, go
from tubside.web.security.public import next_page

_CLOCK = re.compile(r"[0-2][0-9]:[0-5][0-9]")


def send(desk: Desk, request: Request, form: Form) -> Response:
    """Send one text as it was shown; the page it was tapped on then tells what became of it."""
    job, about = request.path_params["job"], form.one("about")
    begins = (form.one("low"), form.one("high"))
    if about not in get_args(MailAbout) or not all(map(_CLOCK.fullmatch, begins)):
        msg = "tap on the day's page which text is to go"
        raise MailError(msg)
    asked = Asked(job, about, begins, hhmm, hhmm_day)  # type: ignore[arg-type]  # checked above
    send_mail(Shop(desk.store, desk.library), asked, desk.author(form.one("once")))
    return go(next_page(form.one("back") or "/day"))


def keep_server(desk: Desk, form: Form) -> None:
    """Keep where the mail server is, and its password where one was typed."""
    security, port = form.one("security"), form.one("port")
    if security not in get_args(Security) or not (port.isascii() and port.isdigit()):
        msg = "choose STARTTLS or TLS, and write the port as a number, such as 587"
        raise MailError(msg)
    told = MailSetting(
        host=form.one("host").lower(),
        port=int(port[:6]),
        security=security,  # type: ignore[arg-type]  # checked above
        user=form.one("user"),
        sender=form.one("sender"),
    )
    keep_mail(desk.store, told, form.one("password"))


def tried(desk: Desk) -> str:
    """Send a mail from the shop to itself; what became of it, in words."""
    sent = try_mail(Shop(desk.store, desk.library), desk.clock(), fresh_id())
    if sent.why is not None:
        return f"The try was not sent: {MEND[sent.why]}."
    return {"sent": "The try was sent: look into the shop's mail."}.get(
        sent.state, "The line broke while the try was handed over: look into the shop's mail."
    )
