"""Closed jobs in the fields of the Open Repair Data Standard 0.3, without anybody's data.

Fields and their values as the table schema of the Open Repair Alliance has them
(openrepair/data on GitHub, ``aggregated/202507/tableschema.json``, read): the status is
Fixed, Repairable, End of life or Unknown; category 17 is "Large home electrical". The
standard has no category of its own for laundry machines, so ours stands beside it.

No name, address, word or photo goes in, no job number, and of a date only its month: in a
small town a day and a machine may say whose it was.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import astuple, dataclass, fields
from hashlib import sha256
from io import StringIO
from re import fullmatch

from tubside.errors import ExportError
from tubside.service.after_records import Disposed
from tubside.service.exports import no_formula
from tubside.service.library import Library
from tubside.service.records import Closing, RemedyDone, Reported
from tubside.service.replay import counting, latest, line_of, source_of
from tubside.service.returns import is_closed
from tubside.service.views import Entry
from tubside.store import facts, job_rows
from tubside.store.opening import Store

CATEGORY, CATEGORY_ID = "Large home electrical", 17
TITLES = {
    "front_load": "Washing machine, front-load",
    "top_load": "Washing machine, top-load",
    "dryer": "Tumble dryer",
    "dishwasher": "Dishwasher",
}
LONG = 10**12


@dataclass(frozen=True, slots=True)
class Provider:
    """Whose data it is: a name, and a country in three letters (ISO 3166-1 alpha-3)."""

    name: str
    country: str

    def __post_init__(self) -> None:
        if not self.name.strip() or len(self.name) > 100:
            msg = "give the name under which the data is published, at most 100 characters"
            raise ExportError(msg)
        if not fullmatch("[A-Z]{3}", self.country):
            msg = "give the country in three capital letters, such as NZL"
            raise ExportError(msg)


@dataclass(frozen=True, slots=True)
class Row:
    """One repair; the fields in the order of the standard."""

    id: str
    data_provider: str
    country: str
    partner_product_category: str
    product_category: str
    product_category_id: int
    brand: str
    year_of_manufacture: str
    product_age: str
    repair_status: str
    repair_barrier_if_end_of_life: str
    group_identifier: str
    event_date: str
    problem: str


FIELDS = tuple(field.name for field in fields(Row))


def table(store: Store, library: Library, provider: Provider) -> Iterator[str]:
    """The table, line by line, a header first."""
    yield _line(FIELDS)
    with store.reading() as opened:
        for job in job_rows.all_ids(opened):
            entries = line_of(facts.of_job(opened, job))
            if is_closed(entries):
                yield _line(astuple(row_of(job, entries, library, provider)))


def row_of(job: str, entries: tuple[Entry, ...], library: Library, provider: Provider) -> Row:
    """What a closed job tells the world."""
    told = source_of(entries).job
    family = told.family
    if family is None and told.model in library.models():
        family = library.model(str(told.model)).pack.family
    closed = max(e.at for e in entries if isinstance(e.body, Closing) and e.retracted_by is None)
    return Row(
        id=f"tubside-{int(sha256(job.encode()).hexdigest(), 16) % LONG}",
        data_provider=provider.name.strip(),
        country=provider.country,
        partner_product_category=TITLES.get(family or "", "Household machine"),
        product_category=CATEGORY,
        product_category_id=CATEGORY_ID,
        brand="Unknown",
        year_of_manufacture="",
        product_age="" if told.age_years is None else f"{told.age_years:g}",
        repair_status=status(entries),
        repair_barrier_if_end_of_life="",
        group_identifier=provider.name.strip(),
        event_date=f"{closed.year:04}-{closed.month:02}-01",
        problem=_problem(entries, family, library),
    )


def status(entries: tuple[Entry, ...]) -> str:
    """How it ended: a machine that went is at its end, one that a re-run passed is fixed."""
    said = counting(entries)
    if any(isinstance(body, Disposed) and body.what == "machine" for body in said):
        return "End of life"
    closing = latest(entries, Closing)
    remedies = [body for body in said if isinstance(body, RemedyDone)]
    worked = bool(remedies) and remedies[-1].outcome == "works"
    if worked or (closing is not None and closing.confirmed_by in {"re-run", "remedy-worked"}):
        return "Fixed"
    known = closing is not None and closing.confirmed_by != "not-confirmed"
    return "Repairable" if known and closing is not None and closing.causes else "Unknown"


def _problem(entries: tuple[Entry, ...], family: str | None, library: Library) -> str:
    """Troubles and causes in the words of the pack, and in nobody's own."""
    if family is None or family not in library.families():
        return ""
    pack = library.family(family).pack
    said = [body for body in counting(entries) if isinstance(body, Reported)]
    troubles = [
        pack.conditions[c].title for b in said for c in b.conditions if c in pack.conditions
    ]
    closing = latest(entries, Closing)
    causes = [] if closing is None else [c for c in closing.causes if c in pack.causes]
    found = ", ".join(pack.causes[c].title for c in causes)
    told = ", ".join(dict.fromkeys(troubles))
    return ". ".join(part for part in (told, f"Cause: {found}" if found else "") if part)


def _line(cells: tuple[object, ...]) -> str:
    out = StringIO()
    csv.writer(out, lineterminator="\r\n").writerow([no_formula(str(cell)) for cell in cells])
    return out.getvalue()
