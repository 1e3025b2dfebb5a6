"""The questions about danger that come before everything else a customer is asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tubside.pack.schema import Danger, Pack
from tubside.service.danger import SAY

ASK: Mapping[Danger, str] = {
    "gas": "Do you smell gas?",
    "shock": "Did it tingle, or give anybody a shock?",
    "burning": "Does it smell of burning, or is the plug or a side of it hot?",
    "smoke": "Is there smoke?",
    "tripping": "Did a breaker or a safety switch of the house switch off?",
    "water-at-plug": "Is there water near the plug or the socket?",
}


@dataclass(frozen=True, slots=True)
class DangerAsked:
    """One danger: what is asked, and what to do at once where the answer is yes."""

    danger: Danger
    ask: str
    say: str


def dangers_asked(pack: Pack) -> tuple[DangerAsked, ...]:
    """Every danger that a customer is asked about; gas first, where a pack knows of it."""
    named = {condition.danger for condition in pack.conditions.values()}
    named |= {danger for finding in pack.findings.values() for danger in finding.danger.values()}
    gas = "gas" in named or "gas" in pack.cautions
    return tuple(
        DangerAsked(danger, ask, SAY[danger])
        for danger, ask in ASK.items()
        if gas or danger != "gas"
    )
