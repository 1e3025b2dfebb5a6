"""The ids a job file of one family may use."""

from __future__ import annotations

from collections.abc import Iterator

from tubside.pack.fault_model import HEALTHY_IDS
from tubside.service.coding import NOTHING_LEARNED, outcomes_of
from tubside.service.knowledge import Knowledge

Listing = dict[str, dict[str, dict[str, object]]]


def listing(known: Knowledge) -> Listing:
    """Section -> id -> what it is; checks and remedies carry their outcomes."""
    pack = known.pack
    causes = {name: cause.title for name, cause in pack.causes.items()}
    causes |= {name: pack.healthy[name].title for name in HEALTHY_IDS}
    return {
        "conditions": {c: {"title": v.title} for c, v in pack.conditions.items()},
        "stages": {s: {"title": v.title} for s, v in pack.stages.items()},
        "variants": {
            a: {"title": v.title, "values": list(v.values)} for a, v in pack.variants.items()
        },
        "context": {c: {"title": pack.checks[v.check].title} for c, v in pack.context.items()},
        "checks": {
            c: {"title": v.title, "outcomes": _outcomes(known, c)} for c, v in pack.checks.items()
        },
        "remedies": {
            r: {"title": v.title, "outcomes": ["works", "still-fails", "not done"]}
            for r, v in pack.remedies.items()
        },
        "causes": {name: {"title": title} for name, title in causes.items()},
        "parts": {p: {"title": v.title} for p, v in pack.parts.items()},
        "stops": {s: {"title": v.title} for s, v in pack.stops.items()},
    }


def listing_lines(listed: Listing) -> Iterator[str]:
    """One line an id, sections apart."""
    for section, entries in listed.items():
        yield f"{section}:"
        width = max((len(name) for name in entries), default=0)
        for name, entry in entries.items():
            yield f"  {name:<{width}}  {entry['title']}"
            outcomes = entry.get("outcomes")
            if section == "checks" and isinstance(outcomes, dict):
                yield from (f"  {'':<{width}}    {o}: {words}" for o, words in outcomes.items())
            elif section == "variants":
                yield f"  {'':<{width}}    {' | '.join(map(str, _texts(entry['values'])))}"
        yield ""


def _texts(values: object) -> list[object]:
    return values if isinstance(values, list) else []


def _outcomes(known: Knowledge, check: str) -> dict[str, str]:
    entry = known.pack.checks[check]
    if entry.reading is not None:
        unit = "" if entry.reading.unit == "1" else f" {entry.reading.unit}"
        value = {f"value: ...{unit}": "the number read, or over, under, no reading"}
        return value | dict.fromkeys(NOTHING_LEARNED, "nothing learned")
    words = (
        known.pack.findings[entry.finding].outcomes
        if entry.finding is not None
        else {v: t.title for v, t in known.pack.variants[str(entry.variant)].values.items()}
    )
    told = {outcome: words[outcome] for outcome in outcomes_of(known, check)}
    return told | dict.fromkeys(NOTHING_LEARNED, "nothing learned")
