"""What the shop's parts cost it when they were used."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

import msgspec
from sqlalchemy import Connection

from tubside.service.part_records import PartUsed
from tubside.service.views import Entry
from tubside.store import parts


@dataclass(frozen=True, slots=True)
class PartPrices:
    """Kinds of the shop's articles, and every price that was asked for them."""

    kinds: dict[str, list[str]] = field(default_factory=dict)
    """Number of an article -> family/part kind."""
    asked: dict[str, list[tuple[datetime, int]]] = field(default_factory=dict)
    """Number of an article -> since when, and cents."""

    def paid(self, entries: Sequence[Entry], family: str) -> dict[str, int]:
        """Part kind -> cents for one, of the parts of a job that were used.

        The price is the last that any supplier asked before. An article of several kinds
        of the family says nothing.
        """
        found: dict[str, int] = {}
        for entry in entries:
            body = entry.body
            if isinstance(body, PartUsed) and entry.retracted_by is None:
                kinds = [it for it in self.kinds.get(body.part, []) if it.startswith(f"{family}/")]
                prices = [it for it in self.asked.get(body.part, []) if it[0] <= entry.at]
                if len(kinds) == 1 and prices:
                    found[kinds[0].partition("/")[2]] = max(prices, key=lambda it: it[0])[1]
        return found


def part_prices(opened: Connection) -> PartPrices:
    """All there are."""
    decode = msgspec.json.Decoder(list[str]).decode
    kinds = {row.number: decode(row.kinds) for row in parts.all_parts(opened)}
    asked: dict[str, list[tuple[datetime, int]]] = {}
    for offer in parts.offers(opened):
        asked.setdefault(offer.part, []).append((offer.kept_at, offer.price))
    return PartPrices(kinds, asked)
