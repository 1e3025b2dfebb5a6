"""Signed links to one quote: nobody can make one, it ends, and it opens nothing else.

The signature (HMAC by ``itsdangerous``) covers the quote, its job, the hash of what the quote
says, and the last moment. The key is made once and kept with the shop's settings.
"""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta

import msgspec
from sqlalchemy import Connection

from tubside.errors import LinkError
from tubside.service.money.content import QuoteContent
from tubside.store import money as rows
from tubside.store.money import QuoteRow
from tubside.store.opening import Store
from tubside.store.settings import keep_setting, setting

KEY = "quote-link-key"
SALT = "tubside.quote"
WRONG = "this link is not right; ask the shop for a new one"


@dataclass(frozen=True, slots=True)
class _Bound:
    quote: str
    job: str
    hash: str
    until: int


def link_of(store: Store, quote: str) -> str:
    """The token of a quote's link; it ends with the last day of the quote (UTC).

    Raises
    ------
    LinkError
        When there is no such quote.
    """
    from itsdangerous import URLSafeSerializer  # noqa: PLC0415  # of the app extra

    with store.writing() as opened:
        row = _row(opened, quote)
        signer = URLSafeSerializer(_key(opened), salt=SALT)
    content = msgspec.json.decode(row.content, type=QuoteContent)
    until = datetime.combine(content.valid_until + timedelta(days=1), time(), UTC)
    bound = [row.id, row.job, row.hash, int(until.timestamp())]
    return str(signer.dumps(bound))


def quote_of_link(store: Store, token: str, now: datetime) -> QuoteRow:
    """The quote that a token opens.

    Raises
    ------
    LinkError
        When it was not made here, is past its last moment, or is of something else.
    """
    from itsdangerous import BadData, URLSafeSerializer  # noqa: PLC0415  # of the app extra

    with store.reading() as opened:
        key = setting(opened, KEY)
        if key is None:
            raise LinkError(WRONG)
        try:
            bound = msgspec.convert(URLSafeSerializer(key, salt=SALT).loads(token), list[str | int])
            told = _Bound(str(bound[0]), str(bound[1]), str(bound[2]), int(bound[3]))
        except (BadData, msgspec.ValidationError, ValueError, IndexError):
            raise LinkError(WRONG) from None
        row = _row(opened, told.quote)
    if (row.job, row.hash) != (told.job, told.hash):
        raise LinkError(WRONG)
    if now.timestamp() >= told.until:
        msg = "this quote is past its last day; ask the shop for a new one"
        raise LinkError(msg)
    return row


def _row(opened: Connection, quote: str) -> QuoteRow:
    row = rows.quote(opened, quote)
    if row is None or row.kind != "quote":
        raise LinkError(WRONG)
    return row


def _key(opened: Connection) -> str:
    there = setting(opened, KEY)
    if there is not None:
        return there
    made = secrets.token_hex(32)
    keep_setting(opened, KEY, made)
    return made
