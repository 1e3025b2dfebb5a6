"""What an indication seems to mean, proposed from closed jobs for a person to accept.

Only jobs whose cause was made sure count. Nothing here changes a model or an advice.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256

import msgspec
import numpy as np

from tubside.learning.meaning import meaning_chances
from tubside.pack.fault_model import Floats
from tubside.panel.lights import OFF
from tubside.panel.matching import TRUE
from tubside.panel.quick_sketch import Front, Look
from tubside.panel.same_look import Group, clear_members, grouped
from tubside.panel.schema import Panel, Sure
from tubside.service.knowledge import Knowledge
from tubside.service.library import Library
from tubside.service.shown_reports import Report, Subject, reports
from tubside.store.opening import Store
from tubside.store.settings import keep_setting, setting

LEAST_JOBS, LEAST_CHANCE = 2, 0.5
"""From so many jobs and from this chance on a meaning is proposed (by judgement)."""
NOT_NOW = "meanings-not-now"


@dataclass(frozen=True, slots=True)
class Proposal:
    """One look of one machine, and the condition that it seems to mean.

    ``agree`` of the ``jobs`` had most likely this condition; ``chance`` is that of the
    next one, ``prior`` the pack's share of it. ``known`` is the indication of the model
    whose meaning is not sure yet, None where the model has none of this look; ``left_out``
    counts closed jobs of the machine that speak for no look: not confirmed, or not clear.
    """

    key: str
    subject: Subject
    name: str
    front: Front | None
    look: Look
    condition: str
    title: str
    agree: int
    chance: float
    prior: float
    jobs: tuple[Report, ...]
    left_out: int
    known: str | None

    @property
    def sure(self) -> Sure:
        """The word whose weight in a belief is nearest to the chance."""
        return min(TRUE, key=lambda word: abs(TRUE[word] - self.chance))


def proposals(store: Store, library: Library) -> list[Proposal]:
    """Every meaning that closed jobs speak for and nobody has accepted or put off yet."""
    by_subject: dict[Subject, list[Report]] = {}
    for report in reports(store, library):
        by_subject.setdefault(report.subject, []).append(report)
    put_off = _put_off(store)
    found = [
        proposal
        for subject, told in by_subject.items()
        for proposal in _of_subject(subject, told, library)
        if len(proposal.jobs) > put_off.get(proposal.key, 0)
    ]
    return sorted(found, key=lambda it: (-len(it.jobs), -it.chance, it.key))


def put_off(store: Store, proposal: Proposal) -> None:
    """Show a proposal no more until another job speaks for it."""
    with store.writing() as opened:
        before = _decoded(setting(opened, NOT_NOW))
        kept = {**before, proposal.key: len(proposal.jobs)}
        keep_setting(opened, NOT_NOW, msgspec.json.encode(kept, order="sorted").decode())


def _put_off(store: Store) -> Mapping[str, int]:
    with store.reading() as opened:
        return _decoded(setting(opened, NOT_NOW))


def _decoded(text: str | None) -> dict[str, int]:
    return {} if text is None else msgspec.json.decode(text, type=dict[str, int])


def _of_subject(subject: Subject, told: Sequence[Report], library: Library) -> list[Proposal]:
    model = subject.model
    known = library.family(subject.family) if model is None else library.model(model)
    names = [] if known.panel is None else list(known.panel.indications)
    anchors = [_look(known.panel, name) for name in names] if known.panel is not None else []
    sure = [report for report in told if report.by_condition is not None]
    looks = [*anchors, *(report.look for report in sure)]
    groups = clear_members(grouped(looks, len(anchors)), looks)
    counted = sum(n >= len(anchors) for group in groups for n in group.members)
    found = []
    for group in groups:
        anchor = next((names[n] for n in group.members if n < len(anchors)), None)
        jobs = [sure[n - len(anchors)] for n in group.members if n >= len(anchors)]
        if not _is_open(known.panel, anchor) or len(jobs) < LEAST_JOBS or not _whole(group):
            continue
        proposal = _proposal(subject, known, jobs, group, anchor)
        if proposal.chance >= LEAST_CHANCE:
            found.append(replace(proposal, left_out=len(told) - counted))
    return found


def _look(panel: Panel, name: str) -> Look:
    shown = panel.indications[name]
    return Look(tuple(panel.lights(name).values()), shown.sound, shown.display)


def _is_open(panel: Panel | None, anchor: str | None) -> bool:
    """Whether nobody has said for sure what this look means."""
    return panel is None or anchor is None or panel.indications[anchor].sure == "unsure"


def _whole(group: Group) -> bool:
    """Whether every lamp is known, and anything shows at all."""
    lights = group.look.lights
    shows = any(light != OFF for light in lights) or group.look.display
    return None not in lights and bool(shows or group.look.sound not in {None, "none"})


def _proposal(
    subject: Subject, known: Knowledge, jobs: Sequence[Report], group: Group, anchor: str | None
) -> Proposal:
    by_job = np.array([report.by_condition for report in jobs])
    shares = condition_shares(known)
    chances = meaning_chances(by_job, shares)
    best = int(chances.argmax())
    condition = known.model.names.conditions[best]
    named = [report.plate for report in jobs if report.plate]
    fronts = [report.front for report in jobs if report.front is not None]
    labelled = [front for front in fronts if any(front.labels)]
    return Proposal(
        key=_key(subject, group.look, condition),
        subject=subject,
        name=known.panel.name if known.panel is not None else named[-1],
        front=(labelled or fronts)[-1] if fronts else None,
        look=group.look,
        condition=condition,
        title=known.pack.conditions[condition].title,
        agree=int((by_job.argmax(axis=1) == best).sum()),
        chance=float(chances[best]),
        prior=float(shares[best]),
        jobs=tuple(jobs),
        left_out=0,
        known=anchor,
    )


def condition_shares(known: Knowledge) -> Floats:
    """How many of all calls begin with each condition, by the pack's weights and tables: (c,)."""
    weights = np.array([known.pack.causes[name].weight for name in known.model.names.causes])
    shares = weights @ known.model.complaint.table
    return np.asarray(shares / shares.sum())


def _key(subject: Subject, look: Look, condition: str) -> str:
    words = [str(subject), [str(light) for light in look.lights], look.sound, look.display]
    return sha256(msgspec.json.encode([*words, condition])).hexdigest()[:24]
