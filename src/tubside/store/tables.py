"""The tables. Every change here comes with a migration; a test holds the two together."""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

from tubside.store.columns import Cents, UtcDateTime

METADATA = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    }
)

JOBS = Table(
    "jobs",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("opened_at", UtcDateTime, nullable=False),
    Column("last_at", UtcDateTime, nullable=False),
    Column("stage", Text, nullable=False),
    Column("closed", Boolean, nullable=False),
    Column("family", Text),
    Column("model", Text),
    Column("trouble", Text, nullable=False),
    Column("danger", Boolean, nullable=False),
    Column("person", Text),
    Column("leading", Text),
    Column("chance", Float),
    Column("fee", Cents),
    Index(None, "closed", "last_at", "id"),
)
"""What the list of jobs shows, computed from the facts whenever one is added."""

FACTS = Table(
    "facts",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("job", Text, ForeignKey("jobs.id"), nullable=False),
    Column("device", Text, nullable=False),
    Column("sequence", BigInteger, nullable=False),
    Column("at", UtcDateTime, nullable=False),
    Column("seen", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("body", Text, nullable=False),
    Column("retracts", Text),
    Column("computed_from", Text),
    Column("received_at", UtcDateTime, nullable=False),
    UniqueConstraint("device", "sequence"),
    Index(None, "job"),
    Index(None, "kind"),
)
"""Appended, never changed. ``seen`` and ``body`` are JSON; ``retracts`` may name a fact
that has not arrived yet."""

PEOPLE = Table(
    "people",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("data", Text),
    Column("replaces", Text),
    Column("kept_at", UtcDateTime, nullable=False),
    Column("erased_at", UtcDateTime),
    Index(None, "replaces"),
)
"""``data`` is JSON, and null once erased: the row stays, so that a copy arriving later is
not taken for new."""

WORDS = Table(
    "words",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("job", Text, ForeignKey("jobs.id"), nullable=False),
    Column("content", Text),
    Column("kept_at", UtcDateTime, nullable=False),
    Column("erased_at", UtcDateTime),
    Index(None, "job"),
)

PHOTOS = Table(
    "photos",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("job", Text, ForeignKey("jobs.id"), nullable=False),
    Column("media_type", Text, nullable=False),
    Column("content", LargeBinary),
    Column("kept_at", UtcDateTime, nullable=False),
    Column("erased_at", UtcDateTime),
    Index(None, "job"),
)

RECORDINGS = Table(
    "recordings",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("job", Text, ForeignKey("jobs.id"), nullable=False),
    Column("media_type", Text, nullable=False),
    Column("content", LargeBinary),
    Column("kept_at", UtcDateTime, nullable=False),
    Column("erased_at", UtcDateTime),
    Index(None, "job"),
)

TOLD = Table(
    "told",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("content", Text, nullable=False),
    Column("kept_at", UtcDateTime, nullable=False),
)
"""Advice that was computed, by a hash of all it was computed from; can be made again."""

USERS = Table(
    "users",
    METADATA,
    Column("name", Text, primary_key=True),
    Column("role", Text, nullable=False),
    Column("password", Text, nullable=False),
    Column("since", UtcDateTime, nullable=False),
)

SESSIONS = Table(
    "sessions",
    METADATA,
    Column("token_hash", Text, primary_key=True),
    Column("id", Text, nullable=False, unique=True),
    Column("user", Text, ForeignKey("users.name", ondelete="CASCADE"), nullable=False),
    Column("since", UtcDateTime, nullable=False),
    Column("seen_at", UtcDateTime, nullable=False),
    Column("device", Text, nullable=False),
    Index(None, "user"),
)

TRIES = Table(
    "tries",
    METADATA,
    Column("key", Text, primary_key=True),
    Column("left", Float, nullable=False),
    Column("at", UtcDateTime, nullable=False),
)

SETTINGS = Table(
    "settings",
    METADATA,
    Column("name", Text, primary_key=True),
    Column("value", Text, nullable=False),
)

PARTS = Table(
    "parts",
    METADATA,
    Column("number", Text, primary_key=True),
    Column("title", Text, nullable=False),
    Column("kinds", Text, nullable=False),
    Column("barcode", Text),
    Column("room", Float, nullable=False),
    Column("retired", Boolean, nullable=False),
    Column("kept_at", UtcDateTime, nullable=False),
    Index(None, "barcode"),
)
"""The shop's numbered articles; ``kinds`` is a JSON list of family/part kind."""

PART_OFFERS = Table(
    "part_offers",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("part", Text, ForeignKey("parts.number"), nullable=False),
    Column("supplier", Text, nullable=False),
    Column("code", Text, nullable=False),
    Column("price", Cents, nullable=False),
    Column("lead_days", Float, nullable=False),
    Column("kept_at", UtcDateTime, nullable=False),
    Index(None, "part"),
)
"""What a supplier asked for a part at a time; appended, the latest of each counts."""

PART_FITS = Table(
    "part_fits",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("part", Text, ForeignKey("parts.number"), nullable=False),
    Column("model", Text, nullable=False),
    Column("sure", Text, nullable=False),
    Column("kept_at", UtcDateTime, nullable=False),
    Index(None, "part"),
)
"""Whether a part fits a model or a family, as far as known; appended, the latest counts."""

PART_MOVES = Table(
    "part_moves",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("number", BigInteger, nullable=False, unique=True),
    Column("part", Text, ForeignKey("parts.number"), nullable=False),
    Column("source", Text),
    Column("target", Text),
    Column("units", BigInteger, nullable=False),
    Column("reason", Text, nullable=False),
    Column("despite", Text),
    Column("job", Text),
    Column("author", Text, nullable=False),
    Column("at", UtcDateTime, nullable=False),
    Index(None, "part"),
    Index(None, "job"),
)
"""Units of a part from one place to another, None being outside the shop; appended, never
changed. ``despite`` says why a place was taken below nought."""

MONEY_NUMBERS = Table(
    "money_numbers",
    METADATA,
    Column("series", Text, primary_key=True),
    Column("last", BigInteger, nullable=False),
)
"""The last number given in each series; counted up in the transaction that uses it."""

QUOTES = Table(
    "quotes",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("job", Text, ForeignKey("jobs.id"), nullable=False),
    Column("kind", Text, nullable=False),
    Column("content", Text, nullable=False),
    Column("hash", Text, nullable=False),
    Column("made_at", UtcDateTime, nullable=False),
    Index(None, "job"),
)
"""Quotes and stop-work notes as they were shown, in JSON without a person; appended."""

QUOTE_ANSWERS = Table(
    "quote_answers",
    METADATA,
    Column("quote", Text, ForeignKey("quotes.id"), primary_key=True),
    Column("agreed", Boolean, nullable=False),
    Column("way", Text, nullable=False),
    Column("answered_at", UtcDateTime, nullable=False),
)
"""A quote is answered once."""

BILLS = Table(
    "bills",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("series", Text, nullable=False),
    Column("number", BigInteger, nullable=False),
    Column("job", Text, ForeignKey("jobs.id"), nullable=False),
    Column("person", Text),
    Column("corrects", Text, ForeignKey("bills.id")),
    Column("content", Text, nullable=False),
    Column("hash", Text, nullable=False),
    Column("total", Cents, nullable=False),
    Column("due_on", Text, nullable=False),
    Column("issued_at", UtcDateTime, nullable=False),
    UniqueConstraint("series", "number"),
    Index(None, "job"),
)
"""Invoices and credit notes; appended, never changed. ``hash`` covers the content and the
hash of the number before, so that one altered or taken out shows."""

PAYMENTS = Table(
    "payments",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("job", Text, ForeignKey("jobs.id"), nullable=False),
    Column("bill", Text, ForeignKey("bills.id")),
    Column("cents", Cents, nullable=False),
    Column("rounding", Cents, nullable=False),
    Column("way", Text, nullable=False),
    Column("reverses", Text, unique=True),
    Column("paid_on", Text, nullable=False),
    Column("kept_at", UtcDateTime, nullable=False),
    Index(None, "job"),
)
"""Money that came in, and what went back (below nought); appended. ``rounding`` is what a
sum in cash was moved by to the smallest coin, and counts as paid; no bill: a deposit."""

BROUGHT_JOBS = Table(
    "brought_jobs",
    METADATA,
    Column("id", Text, primary_key=True),
    Column("content", Text, nullable=False),
    Column("kept_at", UtcDateTime, nullable=False),
)
"""Old jobs brought in from a list: ids and numbers in JSON, nobody's data; the hash ``id`` of
what was told keeps the same list from being brought twice."""
