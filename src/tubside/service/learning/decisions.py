"""What the office said about proposals of learning: left for now, or pinned."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

import msgspec
from msgspec import Meta

from tubside.errors import HistoryError
from tubside.learning.proposal import Proposal
from tubside.store.opening import Store
from tubside.store.settings import drop_setting, keep_setting, settings_under

UNDER = "learning.said."
Text = Annotated[str, Meta(min_length=1, max_length=300, pattern=r"\A[^\x00-\x1f\x7f]*\Z")]
Said = Literal["left", "pinned"]


class Decision(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """That a number stays as it is: by whom, when and why.

    ``seen`` holds the intervals of the proposal at that time: what was left comes back when the
    jobs say something outside them. What was pinned stays whatever they say.
    """

    what: Said
    who: Text
    when: datetime
    why: Text
    seen: dict[str, tuple[float, float]]

    def holds(self, proposal: Proposal) -> bool:
        """Whether it still speaks about what the jobs say now."""
        if self.what == "pinned":
            return True
        ends = [(self.seen.get(part.name), part.learned) for part in proposal.parts]
        return all(end is not None and end[0] <= now <= end[1] for end, now in ends)


def decisions(store: Store, family: str) -> dict[str, Decision]:
    """Proposal's id -> what was said of it."""
    with store.reading() as opened:
        kept = settings_under(opened, f"{UNDER}{family}.")
    return {name: msgspec.json.decode(text, type=Decision) for name, text in kept.items()}


def decide(
    store: Store, family: str, proposal: Proposal, what: Said, by: tuple[str, datetime, str]
) -> Decision:
    """Keep that a number stays; ``by`` is who, when and why.

    Raises
    ------
    HistoryError
        When no reason is given, or too long a one.
    """
    who, when, why = by
    seen = {part.name: (part.low, part.high) for part in proposal.parts}
    made = Decision(what=what, who=who, when=when, why=why.strip(), seen=seen)
    text = msgspec.json.encode(made)
    try:
        msgspec.json.decode(text, type=Decision)
    except msgspec.ValidationError:
        msg = "say in a few words why it stays, on one line of at most 300 characters"
        raise HistoryError(msg) from None
    with store.writing() as opened:
        keep_setting(opened, f"{UNDER}{family}.{proposal.id}", text.decode())
    return made


def forget(store: Store, family: str, name: str) -> None:
    """Let a proposal speak again."""
    with store.writing() as opened:
        drop_setting(opened, f"{UNDER}{family}.{name}")
