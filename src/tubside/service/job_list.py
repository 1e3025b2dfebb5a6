"""The list of jobs, in the words of the packs."""

from __future__ import annotations

import msgspec

from tubside.errors import TubsideError
from tubside.pack.fault_model import HEALTHY_IDS
from tubside.pack.schema import Pack
from tubside.service.job_file import Indication, JobFile
from tubside.service.library import Library
from tubside.service.people import PersonData, person_data
from tubside.service.views import JobLine
from tubside.store.job_rows import JobRow


class _Trouble(msgspec.Struct, frozen=True):
    reported: list[str]
    indication: Indication | None
    recorded: bool = False


def job_line(library: Library, row: JobRow, data: str | None) -> JobLine:
    """One line; ids stand in for titles where the pack is not there any more."""
    person = None if data is None else person_data(data)
    pack, machine = _machine(library, row)
    return JobLine(
        id=row.id,
        stage=row.stage,  # type: ignore[arg-type]  # written from a Stage
        since=row.last_at,
        machine=machine,
        trouble=tuple(_trouble(pack, row)),
        danger=row.danger,
        person=_or_none(person, "name"),
        place=_or_none(person, "address"),
        leading=_leading(pack, row.leading),
        chance=row.chance,
    )


def _or_none(person: PersonData | None, field: str) -> str | None:
    return (getattr(person, field) or None) if person is not None else None


def _machine(library: Library, row: JobRow) -> tuple[Pack | None, str]:
    if row.family is None and row.model is None:
        return None, ""
    try:
        known = library.of(JobFile(family=row.family, model=row.model))
    except TubsideError:
        return None, row.model or row.family or ""
    return known.pack, known.panel.name if known.panel is not None else known.pack.title


def _trouble(pack: Pack | None, row: JobRow) -> list[str]:
    told = msgspec.json.decode(row.trouble, type=_Trouble)
    conditions = {} if pack is None else pack.conditions
    words = [conditions[c].title if c in conditions else c for c in told.reported]
    if told.indication is not None:
        words += [f"{lamp} {light}" for lamp, light in told.indication.lamps.items()]
        words += [told.indication.sound] if told.indication.sound else []
        words += [f"display {text}"] if (text := told.indication.display) else []
    return words or (["the panel was filmed"] if told.recorded else [])


def _leading(pack: Pack | None, cause: str | None) -> str | None:
    if cause is None or pack is None:
        return cause
    if cause in HEALTHY_IDS:
        return pack.healthy[cause].title
    return pack.causes[cause].title if cause in pack.causes else cause
