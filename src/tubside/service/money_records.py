"""Facts about what was agreed to be paid, and about work that stopped."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec
from msgspec import Meta

QuoteRef = Annotated[str, Meta(pattern=r"\A[A-Za-z0-9_-]{8,64}\Z")]
AnswerWay = Literal["link", "screen"]
"""On the link that was sent, or on the technician's screen."""


class _Record(
    msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True
):
    """Base: unknown keys are refused."""


class QuoteAnswered(_Record, frozen=True, kw_only=True, tag_field="kind", tag="quote-answered"):
    """The customer agreed to a quote, or did not; the upper end of its price [cents]."""

    quote: QuoteRef
    agreed: bool
    amount_cents: Annotated[int, Meta(ge=0, le=1_000_000_000_000)]
    way: AnswerWay


class WorkStopped(_Record, frozen=True, kw_only=True, tag_field="kind", tag="work-stopped"):
    """Work stopped before its end, as a note of its own tells."""

    note: QuoteRef


MoneyBody = QuoteAnswered | WorkStopped
"""What was agreed about money."""
