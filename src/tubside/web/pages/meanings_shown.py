"""Proposed meanings as the page of models shows them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from tubside.panel.drawing import seen_svg
from tubside.panel.matching import Seen
from tubside.panel.quick_sketch import Front, Look, picture, words
from tubside.service.library import Library
from tubside.service.meanings import Proposal, proposals
from tubside.service.shown_reports import Report
from tubside.web.pages.desk import Desk
from tubside.web.pages.words import CONFIRMED_WORDS


@dataclass(frozen=True, slots=True)
class Job:
    """One job that speaks for a meaning."""

    id: str
    at: datetime
    told: str
    causes: str
    confirmed: str


@dataclass(frozen=True, slots=True)
class Shown:
    """A proposal drawn, in words, and with the jobs behind it."""

    it: Proposal
    picture: Markup
    looks: str
    means: str
    jobs: tuple[Job, ...]


def shown(desk: Desk) -> list[Shown]:
    """Every proposal that waits for a person."""
    return [_shown(desk.library, it) for it in proposals(desk.store, desk.library)]


def _shown(library: Library, it: Proposal) -> Shown:
    front, drawn = _front(library, it)
    titles = {
        name: cause.title for name, cause in library.family(it.subject.family).pack.causes.items()
    }
    jobs = tuple(_job(front, report, titles) for report in it.jobs)
    looks = words(front, it.look)
    return Shown(it, Markup(drawn), looks[:1].upper() + looks[1:], it.title, jobs)  # noqa: S704  # our own drawing


def _front(library: Library, it: Proposal) -> tuple[Front, str]:
    """Its lamps, and its picture: on the model's own panel where there is one."""
    if it.subject.model is None:
        assert it.front is not None
        return it.front, picture(it.front, it.look, it.name)
    panel = library.model(it.subject.model).panel
    assert panel is not None
    lights = zip(panel.lamps, it.look.lights, strict=True)
    seen = Seen({lamp: light for lamp, light in lights if light}, it.look.sound, it.look.display)
    labels = tuple(lamp.label for lamp in panel.lamps.values())
    return Front("row", labels), seen_svg(panel, seen, alone=False, still=False)


def _job(front: Front, report: Report, titles: Mapping[str, str]) -> Job:
    look = Look(report.look.lights, None, report.look.display)
    causes = ", ".join(titles.get(cause, cause) for cause in report.causes)
    confirmed = CONFIRMED_WORDS[report.confirmed_by]
    return Job(report.job, report.at, words(front, look), causes, confirmed)
