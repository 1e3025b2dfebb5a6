"""What was read from a recording, in the words of a page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tubside.panel.schema import Panel
from tubside.panel.wording import in_short
from tubside.service.panel_coding import NOTHING_SHOWN
from tubside.service.recording_records import RecordingRead
from tubside.service.views import JobView

STATES = ("off", "steady", "flashing")
SHOWN_MESSAGES = 4
LEAST_SHOWN = 0.01


@dataclass(frozen=True, slots=True)
class ToldLamp:
    """One lamp as read: its state, how likely the clip is under each, and how it flashes."""

    label: str
    state: str
    likely: tuple[tuple[str, float], ...]
    how: str


@dataclass(frozen=True, slots=True)
class ToldMessage:
    """One message of the panel, and how well it fits beside the one that fits best."""

    words: str
    meaning: str
    fits: float


def told_lamps(
    read: RecordingRead, answer: Mapping[str, Any], panel: Panel | None
) -> list[ToldLamp]:
    """Each lamp in the panel's order; without the reader's answer its state alone."""
    labels = {} if panel is None else {name: lamp.label for name, lamp in panel.lamps.items()}
    told = answer.get("lamps", {})
    names = [*(name for name in labels if name in read.lamps)]
    names += [name for name in read.lamps if name not in labels]
    return [
        ToldLamp(
            labels.get(name, name),
            read.lamps[name],
            tuple((s, float(told[name]["probability"][s])) for s in STATES) if name in told else (),
            how_words(told.get(name, {}), _together(told, name, labels)),
        )
        for name in names
    ]


def _together(told: Mapping[str, Any], name: str, labels: Mapping[str, str]) -> list[str]:
    """Labels of the other lamps that flash together with one."""
    group = told.get(name, {}).get("group")
    others = [one for one in told if one != name and told[one].get("group") == group]
    return [] if group is None else [labels.get(one, one) for one in others]


def how_words(lamp: Mapping[str, Any], others: Sequence[str] = ()) -> str:
    """How a flashing lamp flashes, and together with which others.

    >>> how_words({"state": "flashing", "period_s": 1.0, "duty": 0.5, "counts": [3, 3]})
    'counts 3, 3, every 1.00 s, lit 50 % of it'
    """
    if lamp.get("state") != "flashing":
        return ""
    counts = ", ".join(str(count) for count in lamp.get("counts", []))
    parts = [f"counts {counts}"] if counts else []
    if lamp.get("period_s") is not None:
        parts.append(f"every {lamp['period_s']:.2f} s")
    if lamp.get("duty") is not None:
        parts.append(f"lit {100 * lamp['duty']:.0f} % of it")
    if others:
        parts.append(f"together with {', '.join(others)}")
    return ", ".join(parts)


def told_sound(answer: Mapping[str, Any]) -> tuple[str, ...]:
    """What was heard, in lines.

    >>> told_sound({"kind": "pulses", "pulses": {"count": 6, "groups": [3, 3], "period_s": 0.5}})
    ('pulses', '6 pulses, in groups of 3, 3', 'every 0.50 s')
    """
    lines = [str(answer["kind"])] if answer.get("kind") else []
    pulses = answer.get("pulses") or {}
    if pulses.get("count"):
        groups = ", ".join(str(one) for one in pulses.get("groups") or [])
        lines.append(f"{pulses['count']} pulses" + (f", in groups of {groups}" if groups else ""))
    if pulses.get("period_s"):
        lines.append(f"every {pulses['period_s']:.2f} s")
    if answer.get("notes"):
        lines.append(f"{len(answer['notes'])} notes")
    return tuple(lines)


def meanings(view: JobView, read: RecordingRead) -> list[ToldMessage]:
    """The messages that fit best, likelihoods beside the best one."""
    ranked = sorted(read.likelihoods.items(), key=lambda item: -item[1])
    kept = [item for item in ranked[:SHOWN_MESSAGES] if item[1] >= LEAST_SHOWN]
    return [_message(view, name, fits) for name, fits in kept]


def _message(view: JobView, name: str, fits: float) -> ToldMessage:
    known = view.known
    if name == NOTHING_SHOWN:
        return ToldMessage("no lamp lit, no sound", "", fits)
    if known is None or known.panel is None or name not in known.panel.indications:
        return ToldMessage(name, "", fits)
    titles = known.pack.conditions
    means = [titles[c].title for c in known.panel.indications[name].conditions if c in titles]
    return ToldMessage(in_short(known.panel, known.panel.lights(name)), " or ".join(means), fits)
