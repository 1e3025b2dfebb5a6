"""Recordings of a job: clips, sounds and logs, kept beside the facts and erasable."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from tubside.errors import AttachmentError, NotThereError
from tubside.service.attachments import erase_beside
from tubside.service.refs import check_ref, need_job, need_ref
from tubside.store import beside
from tubside.store.opening import Store
from tubside.store.tables import RECORDINGS

LOG = "text/csv"


@dataclass(frozen=True, slots=True)
class Recording:
    """A recording's bytes and what they are, such as text/csv."""

    ref: str
    media_type: str
    content: bytes


def add_recording(
    store: Store, job_id: str, recording: Recording, now: datetime, *, most: int
) -> None:
    """Keep a recording for a job; its fact is ``RecordingKept(ref=ref, of=...)``.

    Raises
    ------
    AttachmentError
        When it is empty, or has more than ``most`` bytes.
    NotThereError
        When there is no such job.
    """
    if not recording.content:
        msg = "the file is empty; send the one that was recorded"
        raise AttachmentError(msg)
    if len(recording.content) > most:
        held = len(recording.content) / 2**20
        msg = f"the file has {held:.1f} MiB; at most {most / 2**20:.0f} are taken"
        raise AttachmentError(msg)
    row = {
        "id": check_ref(recording.ref),
        "job": job_id,
        "media_type": recording.media_type,
        "content": recording.content,
        "kept_at": now,
    }
    with store.writing() as opened:
        need_job(opened, job_id)
        beside.add(opened, RECORDINGS, row)


def read_recording(store: Store, job_id: str, ref: str) -> Recording:
    """A recording of that job; NotThereError when it is not there, or was erased."""
    need_ref(job_id, "job")
    need_ref(ref, "recording")
    with store.reading() as opened:
        row = beside.file_of(opened, RECORDINGS, job_id, ref)
    if row is None or row.content is None:
        msg = "there is no such recording, or it was erased"
        raise NotThereError(msg)
    return Recording(row.id, row.media_type, bytes(row.content))


def kept_recordings(store: Store, job_id: str) -> set[str]:
    """References of the recordings of a job that were not erased."""
    with store.reading() as opened:
        found = beside.file_types(opened, RECORDINGS, job_id)
    return {ref for ref, media_type in found.items() if media_type is not None}


def erase_recording(store: Store, job_id: str, ref: str, now: datetime) -> None:
    """Erase a recording of that job; its fact stays."""
    erase_beside(store, RECORDINGS, job_id, ref, now)
