"""All the shop holds as one archive of tables, written while it is sent; one person's own.

The archives are ZIP files (PKWARE appnote 6.3.10) of comma-separated tables (RFC 4180, with
a byte order mark, as spreadsheets ask for one), of photos and of recordings.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Collection, Iterator
from datetime import datetime
from io import RawIOBase, StringIO
from typing import Any
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

import msgspec
from sqlalchemy import Connection

from tubside.service.people import person_in
from tubside.service.records import PersonNamed, encoded, kind_of
from tubside.store import all_rows, beside, facts
from tubside.store.all_rows import Sheet
from tubside.store.opening import Store
from tubside.store.tables import PHOTOS, RECORDINGS

A_PIECE = 64 * 1024
"""Bytes gathered before they are sent."""
FORMULA = ("=", "+", "-", "@", "\t", "\r")
BY_LAW = frozenset({"bills", "payments"})
"""Tables whose rows outlive the person: the shop's accounts."""
KEPT_YEARS = (
    ("New Zealand", 7, "Tax Administration Act 1994, section 22"),
    ("Australia", 5, "Income Tax Assessment Act 1936, section 262A"),
    ("United Kingdom", 6, "VAT Notice 700/21, section 2"),
    ("Germany", 8, "Abgabenordnung, section 147, as of 2025"),
    ("United States", 3, "Internal Revenue Code, section 6501"),
)
"""Country, years that accounts are kept at least, and the law; all from memory."""


class _Sink(RawIOBase):
    """What the archive is written into: bytes come out as fast as they go in."""

    def __init__(self) -> None:
        self.held = bytearray()
        self.gone = 0

    def writable(self) -> bool:
        """Return that one can write, never seek."""
        return True

    def write(self, content: Any) -> int:  # noqa: ANN401  # any buffer, as RawIOBase asks
        """Hold some more bytes."""
        self.held += content
        return len(content)

    def tell(self) -> int:
        """Return how many bytes were written so far."""
        return self.gone + len(self.held)

    def take(self, least: int = 0) -> Iterator[bytes]:
        """Hand out what is held, where it is enough to be worth it."""
        if len(self.held) > least:
            self.gone += len(self.held)
            piece, self.held = bytes(self.held), bytearray()
            yield piece


def everything(store: Store, now: datetime) -> Iterator[bytes]:
    """All tables, photos and recordings as a ZIP, piece by piece, as they stood at one moment."""
    sink = _Sink()
    with store.reading() as opened, ZipFile(sink, "w", ZIP_DEFLATED) as archive:
        for sheet in all_rows.sheets(opened):
            yield from _put_sheet(archive, sink, sheet, now)
        for name, content in _files(opened, None):
            _put(archive, name, content, now, ZIP_STORED)
            yield from sink.take(A_PIECE)
    yield from sink.take()


def _files(opened: Connection, jobs: Collection[str] | None) -> Iterator[tuple[str, bytes]]:
    """Name in the archive and content of what lies beside the facts of some jobs, or of all."""
    for table in (PHOTOS, RECORDINGS):
        for name, content in beside.files(opened, table, jobs):
            yield f"{table.name}/{name}", content


def _put_sheet(archive: ZipFile, sink: _Sink, sheet: Sheet, now: datetime) -> Iterator[bytes]:
    with archive.open(_named(f"{sheet.name}.csv", now, ZIP_DEFLATED), "w") as entry:
        entry.write("\N{BOM}".encode())
        text = StringIO()
        table = csv.writer(text, lineterminator="\r\n")
        table.writerow(sheet.columns)
        for row in sheet.rows:
            table.writerow([no_formula(cell) for cell in row])
            if text.tell() > A_PIECE:
                entry.write(_emptied(text))
                yield from sink.take(A_PIECE)
        entry.write(_emptied(text))
    yield from sink.take(A_PIECE)


def _emptied(text: StringIO) -> bytes:
    content = text.getvalue().encode()
    text.seek(0)
    text.truncate()
    return content


def no_formula(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula; numbers stay numbers.

    >>> no_formula("=1+1"), no_formula("-3.5"), no_formula("plain")
    ("'=1+1", '-3.5', 'plain')
    """
    if not cell.startswith(FORMULA) or cell.lstrip("-").replace(".", "", 1).isdigit():
        return cell
    return f"'{cell}"


def _named(name: str, now: datetime, how: int) -> ZipInfo:
    here = now.astimezone()
    entry = ZipInfo(name, (here.year, here.month, here.day, here.hour, here.minute, here.second))
    entry.compress_type = how
    return entry


def _put(archive: ZipFile, name: str, content: bytes, now: datetime, how: int) -> None:
    archive.writestr(_named(name, now, how), content)


def of_person(store: Store, ref: str, now: datetime) -> Iterator[bytes]:
    """All that is held of one person as a ZIP: ``person.json`` and the photos of their jobs.

    NotThereError for an unknown reference.
    """
    sink = _Sink()
    with store.reading() as opened:
        person_in(opened, ref)
        versions, jobs = _of(opened, ref)
        with ZipFile(sink, "w", ZIP_DEFLATED) as archive:
            told = {
                "made_at": now.isoformat(),
                "person": [_version(opened, one) for one in sorted(versions)],
                "jobs": sorted(jobs),
                "tables": {
                    sheet.name: [dict(zip(sheet.columns, row, strict=True)) for row in sheet.rows]
                    for sheet in all_rows.sheets_of_jobs(opened, jobs)
                },
            }
            text = json.dumps(told, ensure_ascii=False, indent=1).encode()
            _put(archive, "person.json", text, now, ZIP_DEFLATED)
            for name, content in _files(opened, jobs):
                _put(archive, name, content, now, ZIP_STORED)
                yield from sink.take(A_PIECE)
    yield from sink.take()


def _version(opened: Connection, ref: str) -> dict[str, object]:
    data = person_in(opened, ref).data
    return {"ref": ref, "erased": data is None, **(msgspec.to_builtins(data) if data else {})}


def _of(opened: Connection, ref: str) -> tuple[set[str], set[str]]:
    """All references of a person, and all jobs that name one of them."""
    versions = beside.versions_of(opened, ref)
    bodies = [encoded(PersonNamed(ref=one)) for one in versions]
    return versions, facts.jobs_naming(opened, kind_of(PersonNamed(ref=ref)), bodies)


def kept_by_law(store: Store, ref: str) -> int:
    """How many bills and payments stay when this person is erased."""
    with store.reading() as opened:
        person_in(opened, ref)
        _, jobs = _of(opened, ref)
        return all_rows.counts_of_jobs(opened, BY_LAW, jobs)
