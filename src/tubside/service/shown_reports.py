"""What machines showed on closed jobs, and what each job says that it meant."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from tubside.diagnosis.facts import evidence_of
from tubside.diagnosis.hypotheses import Sets
from tubside.diagnosis.likelihood import complaint_terms, silent
from tubside.errors import JobFileError, UnknownNameError
from tubside.pack.fault_model import Floats
from tubside.panel.lights import SOUNDS, light_of
from tubside.panel.quick_sketch import Front, Layout, Look, drawn_alike
from tubside.panel.schema import Panel
from tubside.service.coding import coded_facts
from tubside.service.job_file import JobFile, JobSource
from tubside.service.knowledge import Knowledge, models
from tubside.service.library import Library
from tubside.service.panel_records import PanelSketched
from tubside.service.records import Closing, ConfirmedBy, Indication
from tubside.service.replay import latest, line_of, source_of
from tubside.service.unseen import front_of, look_of, plate_of, same_plate
from tubside.service.views import Entry
from tubside.store import beside, job_rows
from tubside.store import facts as kept
from tubside.store.opening import Store
from tubside.strict_yaml.document import Document, Place


@dataclass(frozen=True, slots=True)
class Subject:
    """The machines whose reports may be compared: one model, or one name on type plates."""

    family: str
    model: str | None = None
    plate: str | None = None
    layout: Layout | None = None
    lamps: int = 0


@dataclass(frozen=True, slots=True)
class Report:
    """One closed job: what was shown, and P(condition | its causes, what was told): (c,).

    ``by_condition`` is None where the cause was not made sure, or nothing was found.
    """

    job: str
    at: datetime
    subject: Subject
    look: Look
    front: Front | None
    plate: str | None
    causes: tuple[str, ...]
    confirmed_by: ConfirmedBy
    by_condition: Floats | None


def reports(store: Store, library: Library) -> list[Report]:
    """Every closed job with a sketched panel and a name, or on a model of the shop's own."""
    own = _own_models(library)
    found = []
    with store.reading() as opened:
        for job in job_rows.closed_with(opened, "sketch", list(own)):
            entries = line_of(kept.of_job(opened, job))
            report = _report(job, entries, beside.words_of(opened, job), library, own)
            found += [report] if report is not None else []
    return sorted(found, key=lambda report: (report.at, report.job))


def _own_models(library: Library) -> dict[str, Panel]:
    shipped = models(library.packs)
    own = [name for name in library.models() if name not in shipped]
    return {name: panel for name in own if (panel := library.model(name).panel) is not None}


def _report(
    job: str,
    entries: Sequence[Entry],
    words: dict[str, str | None],
    library: Library,
    own: dict[str, Panel],
) -> Report | None:
    closing, told = latest(entries, Closing), source_of(entries)
    if closing is None or told.job.family is None:
        return None
    try:
        known = library.family(told.job.family)
    except UnknownNameError:
        return None
    plate, sketch = plate_of(entries), latest(entries, PanelSketched)
    front = None if sketch is None else front_of(sketch, words)
    look, subject = _shown(told.job, entries, own), _subject(told.job, plate, front, own)
    if look is None and sketch is not None:
        look = look_of(sketch)
    if look is None or subject is None:
        return None
    at = max(entry.at for entry in entries if entry.body is closing)
    sure = _sure(closing, told, known)
    causes = tuple(closing.causes)
    return Report(job, at, subject, look, front, plate, causes, closing.confirmed_by, sure)


def _shown(job: JobFile, entries: Sequence[Entry], own: dict[str, Panel]) -> Look | None:
    """What was told on the panel of a model that the shop has taught."""
    told = latest(entries, Indication)
    if told is None or job.model not in own:
        return None
    lights = tuple(light_of(told.lamps.get(lamp, "")) for lamp in own[job.model].lamps)
    sound = next((sound for sound in SOUNDS if sound == told.sound), None)
    return Look(lights, sound, told.display or None)


def _subject(
    job: JobFile, plate: str | None, front: Front | None, own: dict[str, Panel]
) -> Subject | None:
    """The model, also one made from sketches of this name; else the name with its panel."""
    family = str(job.family)
    if job.model is not None:
        return Subject(family, job.model) if job.model in own else None
    if plate is None or front is None:
        return None
    for name, panel in own.items():
        if same_plate(name) == same_plate(plate) and drawn_alike(panel, front):
            return Subject(family, name)
    return Subject(family, None, same_plate(plate), front.layout, len(front.labels))


def _sure(closing: Closing, told: JobSource, known: Knowledge) -> Floats | None:
    causes = [name for name in closing.causes if name in known.model.names.causes]
    if closing.confirmed_by == "not-confirmed" or not causes:
        return None
    return condition_chances(told.job, causes, known)


def condition_chances(job: JobFile, causes: Sequence[str], known: Knowledge) -> Floats:
    """P(condition met first | causes, what was reported and asked), without the panel: (c,).

    By the belief's own table: stage, rank and how people put it. What was told of the
    panel is left out, as its meaning is what is looked for.
    """
    names = known.model.names.causes
    members = np.array([[name in causes for name in names]])
    sets = Sets(members, np.array([-1]))
    complaint = silent(known.model)
    asked = [line for line in job.facts if line.condition is not None]
    bare = JobFile(
        family=job.family,
        reported=job.reported,
        when=job.when,
        reached=job.reached,
        facts=asked,
    )
    source = JobSource(bare, Document({}, {(): Place("fact", 0)}))
    try:
        told = evidence_of(known.model, coded_facts(source, known)).complaint
    except JobFileError:  # the pack has other names by now; its causes still speak
        told = None
    terms = complaint_terms(known.model, told or complaint, sets)[0]
    return np.asarray(terms / terms.sum())
