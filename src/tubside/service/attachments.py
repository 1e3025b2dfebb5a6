"""Words and photos of a job: kept beside the facts, by reference, erasable."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from tubside.store.opening import Store

WORDS_LIMIT = 4000
"""Characters."""
PHOTO_LIMIT = 8 * 1024 * 1024
"""Bytes."""


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
    raise NotImplementedError


def add_photo(store: Store, job_id: str, ref: str, content: bytes, now: datetime) -> str:
    """Keep a photo for a job; its media type, told from the first bytes and nothing else.

    Raises
    ------
    AttachmentError
        When it is too large or neither JPEG, PNG nor WebP.
    NotThereError
        When there is no such job.
    """
    raise NotImplementedError


def read_photo(store: Store, job_id: str, ref: str) -> Photo:
    """A photo of that job; NotThereError when it is not there, or was erased."""
    raise NotImplementedError


def erase_words(store: Store, job_id: str, ref: str, now: datetime) -> None:
    """Erase words of that job; their fact stays."""
    raise NotImplementedError


def erase_photo(store: Store, job_id: str, ref: str, now: datetime) -> None:
    """Erase a photo of that job; its fact stays."""
    raise NotImplementedError
