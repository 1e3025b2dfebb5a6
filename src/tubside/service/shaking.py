"""A phone's log of a pushed tub: kept bare, read apart, and taken as a reading of its job."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import msgspec

from tubside.errors import NotThereError, RecordingError
from tubside.pack.schema import Observer
from tubside.recordings.apart import read_apart
from tubside.recordings.shake.told import WIDE
from tubside.service.kept_recordings import (
    LOG,
    Recording,
    add_recording,
    erase_recording,
    read_recording,
)
from tubside.service.knowledge import Knowledge
from tubside.service.records import ReadingDone
from tubside.service.views import JobView
from tubside.service.wording import figures
from tubside.store import beside
from tubside.store.opening import Store

LOG_LIMIT = 4 * 2**20
"""Bytes of a log: ten seconds at 500 samples a second take a quarter of one MiB."""
QUANTITY = "bounce_count"
PHONE = "phone's accelerometer"
FINEST = 0.1
"""Bounces. No log is surer of a machine than this: where the phone lies and how the push was
made differ from one time to the next (common practice, no source)."""
MANY = 19.0
"""From here on a tub swings "for ever": the machine's own count ends at 20."""
SURE = 0.8
"""A count with this chance is said alone."""
NAME = "the log"

Told = dict[str, Any]


def bounce_check(view: JobView) -> str | None:
    """The check of the job's pack that counts the bounces of the tub, if it has one."""
    if view.known is None:
        return None
    return check_of(view.known)


def check_of(known: Knowledge) -> str | None:
    """The check of a pack whose reading is the count of bounces."""
    checks = known.pack.checks.items()
    names = (n for n, c in checks if c.reading is not None and c.reading.quantity == QUANTITY)
    return next(names, None)


def take_log(store: Store, job_id: str, ref: str, content: bytes, now: datetime) -> Told:
    """Read a log apart, keep its numbers alone beside the job, and tell what it says.

    Raises
    ------
    RecordingError
        Naming file and line of what cannot be read.
    AttachmentError
        When it is empty.
    """
    if len(content) > LOG_LIMIT:
        msg = f"the log has {len(content) / 2**20:.1f} MiB; at most 4 are taken: send one push"
        raise RecordingError(msg)
    told = _read(content, bare=True)
    bare = Recording(ref, LOG, str(told.pop("bare")).encode())
    add_recording(store, job_id, bare, now, most=4 * LOG_LIMIT)
    _keep(store, ref, told, now)
    return told


def log_told(store: Store, job_id: str, ref: str, now: datetime) -> Told:
    """What a kept log says; NotThereError when there is none, or it was erased."""
    content = read_recording(store, job_id, ref).content
    with store.reading() as opened:
        text = beside.told(opened, _key(ref))
    if text:
        return dict(msgspec.json.decode(text))
    told = _read(content, bare=False)
    _keep(store, ref, told, now)
    return told


def whole_words(told: Told) -> str:
    """The whole bounces of a log: one count where it is sure, else those that it may be.

    >>> whole_words({"counts": {"3": 0.9, "4": 0.08}})
    '3'
    >>> whole_words({"counts": {"4": 0.6, "3": 0.4}})
    '3 or 4'
    >>> whole_words({"counts": {"8": 0.4, "7": 0.3, "9": 0.26}}), whole_words({})
    ('7 to 9', '')
    """
    chances = {int(count): float(chance) for count, chance in told.get("counts", {}).items()}
    if not chances or float(told.get("bounce_count") or 0.0) > MANY:
        return ""
    if max(chances.values()) >= SURE:
        return str(max(chances, key=lambda count: chances[count]))
    ends = min(chances), max(chances)
    return f"{ends[0]} {'or' if ends[1] - ends[0] == 1 else 'to'} {ends[1]}"


def erase_log(store: Store, job_id: str, ref: str, now: datetime) -> None:
    """Erase a log with what was read from it; the facts stay."""
    read_recording(store, job_id, ref)  # a log that is not there has nothing to erase
    _keep(store, ref, {}, now)
    erase_recording(store, job_id, ref, now)


def reading_of_log(told: Told, check: str, by: Observer) -> ReadingDone:
    """The bounces of a log as a reading, with the deviation of their interval.

    Raises
    ------
    NotThereError
        When the log counts no bounces.
    """
    if told.get("bounce_count") is None:
        msg = "no bounces were counted in this log; record another push"
        raise NotThereError(msg)
    count = float(told["bounce_count"])
    low, high = (float(end) for end in told["interval"]["bounces"])
    if count > MANY:
        return ReadingDone(
            check=check, value=MANY, said=f"over {MANY:.0f}", by=by, instrument=PHONE
        )
    value = float(figures(count))
    error = max((high - low) / (2.0 * WIDE), FINEST)
    return ReadingDone(
        check=check, value=value, said=figures(count), by=by, instrument=PHONE, error=error
    )


def _read(content: bytes, *, bare: bool) -> Told:
    with TemporaryDirectory(prefix="tubside-") as folder:
        path = Path(folder, NAME)
        path.write_bytes(content)
        return read_apart("shake", [path], {"trace": True, "bare": bare, "name": NAME})


def _keep(store: Store, ref: str, told: Told, now: datetime) -> None:
    content = msgspec.json.encode(told).decode() if told else ""
    with store.writing() as opened:
        beside.keep_told(opened, _key(ref), content, now)


def _key(ref: str) -> str:
    return f"shake {ref}"
