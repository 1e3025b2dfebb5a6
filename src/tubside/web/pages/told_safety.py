"""What each form of the safety test tells, for a phone without signal; see ``told_forms``.

The decision has none: it keeps the verdicts that were shown with it, and these are worked
out on the server.
"""

from __future__ import annotations

from tubside.safety.which_tests import Item
from tubside.service.heeded import LIVE_TEST
from tubside.web.pages.told_forms import Pattern

TOUCHED: list[Pattern] = [{"kind": "work-touched", "what": "$*what"}]
APPLIANCE: list[Pattern] = [
    {
        "kind": "appliance-told",
        "protection": "$protection",
        "heater_kw": "$#heater_kw",
        "cord_m": "$#cord_m",
        "cord_mm2": "$#cord_mm2",
        "electronic_switch": "$?electronic_switch",
        "surge_parts": "$?surge_parts",
        "rcd": "$?rcd",
    }
]
LOOK: Pattern = {"kind": "safety-look", "test": "$test", "outcome": "$outcome"}
READING: Pattern = {
    "kind": "safety-reading",
    "test": "$test",
    "value": "$#value",
    "uncertainty": "$#uncertainty",
    "instrument": "$instrument",
    "calibrated": "$calibrated",
    "due": "$due",
}
TIMES: Pattern = {
    "kind": "safety-rcd",
    "at_rated_ms": "$+at_rated_ms",
    "at_five_ms": "$+at_five_ms",
    "no_trip": "$?no_trip",
}


def one_test(item: Item, by: str) -> list[Pattern]:
    """What the form of one test tells, its caution first; ``by`` is the account, "" for none."""
    return [*_caution(item, by), _found(item)]


def _caution(item: Item, by: str) -> list[Pattern]:
    if not item.acknowledged:
        return []
    body = {"kind": "caution", "caution": LIVE_TEST, "step": "$"}
    return [{"each": "caution", "need": [item.id], "body": {**body, "by": by} if by else body}]


def _found(item: Item) -> Pattern:
    if item.kind in {"look", "run"}:
        return LOOK
    if item.kind == "reading":
        return {"pick": "says", "of": {"is": READING, "over": {**READING, "over_range": True}}}
    half = {"holds": False, "trips": True}
    told = {word: {**TIMES, "tripped_at_half": trips} for word, trips in half.items()}
    return {"pick": "half", "of": {"": TIMES, **told}}
