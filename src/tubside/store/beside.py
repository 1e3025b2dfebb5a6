"""What lies beside the facts, by reference, and can be erased: people, words and files.

Files are photos and recordings. Also advice that was computed, which can be made again.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, Connection, Table, insert, or_, select, update

from tubside.errors import AttachmentError
from tubside.store.tables import PEOPLE, PHOTOS, RECORDINGS, TOLD, WORDS
from tubside.store.upserting import written_anew


@dataclass(frozen=True, slots=True)
class FileRow:
    """A photo or a recording; no content once it was erased."""

    id: str
    job: str
    media_type: str
    content: bytes | None


def add(connection: Connection, table: Table, row: Mapping[str, object]) -> None:
    """Keep a row under a fresh reference; the same one again, or one since erased, is left.

    Raises
    ------
    AttachmentError
        When the reference is taken by something else.
    """
    there = connection.execute(select(table).where(table.c.id == row["id"])).mappings().first()
    if there is None:
        connection.execute(insert(table).values(row))
    elif there["erased_at"] is None and any(
        there[key] != value for key, value in row.items() if key != "kept_at"
    ):
        msg = f"the reference {row['id']} is taken; give this a reference of its own"
        raise AttachmentError(msg)


def person(connection: Connection, ref: str) -> tuple[bool, str | None]:
    """Whether there is such a person, and their data; none once erased."""
    row = connection.execute(select(PEOPLE.c.data).where(PEOPLE.c.id == ref)).first()
    return row is not None, None if row is None else row[0]


def versions_of(connection: Connection, ref: str) -> set[str]:
    """References of all versions of a person, earlier and later ones."""
    found, fresh = {ref}, {ref}
    while fresh:
        near = or_(PEOPLE.c.id.in_(fresh), PEOPLE.c.replaces.in_(fresh))
        rows = connection.execute(select(PEOPLE.c.id, PEOPLE.c.replaces).where(near)).all()
        fresh = {one for row in rows for one in row if one is not None} - found
        found |= fresh
    return found


def erase_people(connection: Connection, refs: Collection[str], now: datetime) -> None:
    """Forget the data of people; their references stay."""
    _erase(connection, PEOPLE, {"data": None}, PEOPLE.c.id.in_(refs), now)


def erase_of_jobs(connection: Connection, jobs: Collection[str], now: datetime) -> None:
    """Forget all words, photos and recordings of jobs."""
    for table in (WORDS, PHOTOS, RECORDINGS):
        _erase(connection, table, {"content": None}, table.c.job.in_(jobs), now)


def erase_one(connection: Connection, table: Table, job: str, ref: str, now: datetime) -> bool:
    """Forget words, a photo or a recording of a job; whether there is such a one."""
    where = (table.c.id == ref) & (table.c.job == job)
    if connection.execute(select(table.c.id).where(where)).first() is None:
        return False
    _erase(connection, table, {"content": None}, where, now)
    return True


def words_of(connection: Connection, job: str) -> dict[str, str | None]:
    """Reference -> words of a job, None where erased."""
    rows = connection.execute(select(WORDS.c.id, WORDS.c.content).where(WORDS.c.job == job))
    return {row[0]: row[1] for row in rows}


def file_types(connection: Connection, table: Table, job: str) -> dict[str, str | None]:
    """Reference -> media type of each photo or recording of a job, None where erased."""
    columns = (table.c.id, table.c.media_type, table.c.erased_at)
    rows = connection.execute(select(*columns).where(table.c.job == job))
    return {row[0]: row[1] if row[2] is None else None for row in rows}


def file_of(connection: Connection, table: Table, job: str, ref: str) -> FileRow | None:
    """A photo or a recording of a job, None if there is no such one."""
    columns = (table.c.id, table.c.job, table.c.media_type, table.c.content)
    where = (table.c.id == ref) & (table.c.job == job)
    row = connection.execute(select(*columns).where(where)).first()
    return None if row is None else FileRow(*row)


def files(
    connection: Connection, table: Table, jobs: Collection[str] | None
) -> Iterator[tuple[str, bytes]]:
    """File name and content of each photo or recording of some jobs, or of all; one at a time."""
    columns = (table.c.id, table.c.media_type)
    query = select(*columns).where(table.c.erased_at.is_(None)).order_by(table.c.id)
    query = query if jobs is None else query.where(table.c.job.in_(list(jobs)))
    for ref, media_type in connection.execute(query).all():
        content = connection.execute(select(table.c.content).where(table.c.id == ref)).scalar()
        yield f"{ref}.{media_type.rpartition('/')[2]}", bytes(content or b"")


def told(connection: Connection, key: str) -> str | None:
    """Advice kept under a key, None if there is none."""
    row = connection.execute(select(TOLD.c.content).where(TOLD.c.id == key)).first()
    return None if row is None else str(row[0])


def keep_told(connection: Connection, key: str, content: str, now: datetime) -> None:
    """Keep advice under a key, instead of what was there."""
    row = {"id": key, "content": content, "kept_at": now}
    connection.execute(written_anew(connection, TOLD), row)


def _erase(
    connection: Connection,
    table: Table,
    nothing: dict[str, None],
    where: ColumnElement[bool],
    now: datetime,
) -> None:
    query = update(table).where(where, table.c.erased_at.is_(None))
    connection.execute(query.values({**nothing, "erased_at": now}))
