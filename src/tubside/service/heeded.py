"""The cautions that were acknowledged in a job: which, before which step, by whom and when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from tubside.safety.which_tests import TITLES, beware_of
from tubside.service.records import CautionRead
from tubside.service.views import JobView

LIVE_TEST = "safety-test"
"""What a caution of the safety test is kept under, whatever the country."""


@dataclass(frozen=True, slots=True)
class Heeded:
    """One caution before one step: the words that were shown, who ticked them last and when.

    ``by`` is the name of an account; "" where nobody had to log in or there was no signal.
    """

    caution: str
    step: str
    by: str
    at: datetime

    def told(self) -> str:
        """All of it in one line, without the moment."""
        return f"{self.step}: {self.caution}" + (f" Acknowledged by {self.by}." if self.by else "")


def heeded(view: JobView) -> tuple[Heeded, ...]:
    """Every caution that was acknowledged, in the order in which it last was."""
    found: dict[tuple[str, str], Heeded] = {}
    for entry in view.entries:
        body = entry.body
        if isinstance(body, CautionRead) and entry.retracted_by is None:
            words, step = words_of(view, body)
            found.pop((body.caution, body.step), None)
            found[body.caution, body.step] = Heeded(words, step, body.by or "", entry.at)
    return tuple(found.values())


def words_of(view: JobView, body: CautionRead) -> tuple[str, str]:
    """What the caution says, and the title of its step; their ids where no pack knows them."""
    if body.caution == LIVE_TEST:
        return beware_of(body.step), TITLES.get(body.step, body.step)
    pack = None if view.known is None else view.known.pack
    if pack is None:
        return body.caution, body.step
    caution = pack.cautions.get(body.caution)
    step = pack.checks.get(body.step) or pack.remedies.get(body.step)
    words = body.caution if caution is None else f"{_ended(caution.harm)} {_ended(caution.do)}"
    return words, body.step if step is None else step.title


def _ended(words: str) -> str:
    return words if words.endswith((".", "!", "?")) else f"{words}."
