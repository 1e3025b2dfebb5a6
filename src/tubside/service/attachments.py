"""Words and photos of a job: kept beside the facts, by reference, erasable."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Table

from tubside.errors import AttachmentError, NotThereError, PhotoError
from tubside.service.panel_photo import shrunk
from tubside.service.people import check_text
from tubside.service.refs import check_ref, need_job, need_ref
from tubside.store import beside
from tubside.store.opening import Store
from tubside.store.tables import PHOTOS, WORDS

WORDS_LIMIT = 4000
"""Characters."""
PHOTO_LIMIT = 8 * 1024 * 1024
"""Bytes."""
KEPT_AS = "image/jpeg"


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo's bytes and what they are: image/jpeg, image/png or image/webp."""

    ref: str
    media_type: str
    content: bytes


def add_words(store: Store, job_id: str, ref: str, text: str, now: datetime) -> None:
    """Keep words for a job; its fact is ``record(..., WordsKept(ref=ref, about=...))``.

    Raises
    ------
    AttachmentError
        When they are empty, too long or hold control characters.
    NotThereError
        When there is no such job.
    """
    if not text.strip():
        msg = "there are no words to keep"
        raise AttachmentError(msg)
    check_text("text", text, WORDS_LIMIT)
    row = {"id": check_ref(ref), "job": job_id, "content": text, "kept_at": now}
    with store.writing() as opened:
        need_job(opened, job_id)
        beside.add(opened, WORDS, row)


def add_photo(store: Store, job_id: str, ref: str, content: bytes, now: datetime) -> str:
    """Keep a photo for a job, made small; the media type it is kept as.

    Only its pixels are kept: place, time and camera, which a phone writes into the file,
    never reach the store.

    Raises
    ------
    AttachmentError
        When it is too large, neither JPEG, PNG nor WebP, or cannot be read.
    NotThereError
        When there is no such job.
    """
    if len(content) > PHOTO_LIMIT:
        msg = f"the photo has {len(content) / 2**20:.1f} MiB; at most 8 are kept"
        raise AttachmentError(msg)
    bare = _bare(content)
    row = {"id": check_ref(ref), "job": job_id, "media_type": KEPT_AS, "kept_at": now}
    with store.writing() as opened:
        need_job(opened, job_id)
        beside.add(opened, PHOTOS, {**row, "content": bare})
    return KEPT_AS


def read_photo(store: Store, job_id: str, ref: str) -> Photo:
    """A photo of that job; NotThereError when it is not there, or was erased."""
    need_ref(job_id, "job")
    need_ref(ref, "photo")
    with store.reading() as opened:
        row = beside.file_of(opened, PHOTOS, job_id, ref)
    if row is None or row.content is None:
        msg = "there is no such photo, or it was erased"
        raise NotThereError(msg)
    return Photo(row.id, row.media_type, bytes(row.content))


def erase_words(store: Store, job_id: str, ref: str, now: datetime) -> None:
    """Erase words of that job; their fact stays."""
    erase_beside(store, WORDS, job_id, ref, now)


def erase_photo(store: Store, job_id: str, ref: str, now: datetime) -> None:
    """Erase a photo of that job; its fact stays."""
    erase_beside(store, PHOTOS, job_id, ref, now)


def erase_beside(store: Store, table: Table, job_id: str, ref: str, now: datetime) -> None:
    """Erase what is kept beside a job's facts; NotThereError when there is nothing of that name."""
    need_ref(ref, table.name)
    with store.writing() as opened:
        need_job(opened, job_id)
        if not beside.erase_one(opened, table, job_id, ref, now):
            msg = f"this job has nothing under {ref!a}"
            raise NotThereError(msg)
    store.settle()


def _bare(content: bytes) -> bytes:
    """The picture alone: the same bytes give the same, so a photo sent twice is kept once."""
    try:
        return shrunk(content)
    except PhotoError as wrong:
        raise AttachmentError(str(wrong)) from wrong
