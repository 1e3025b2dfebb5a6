"""Every job that is learned from, read once and kept until one of them, or a pack, changes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from hashlib import sha256
from threading import Lock
from weakref import WeakKeyDictionary

import msgspec
from sqlalchemy import Connection, Engine

from tubside.learning.counts import Counts, counted
from tubside.learning.history import ClosedJob
from tubside.service.job_file import JobFile
from tubside.service.learning.bringing import brought_jobs
from tubside.service.learning.history import KINDS, LINKS, closed_jobs
from tubside.service.learning.part_prices import part_prices
from tubside.service.library import Library
from tubside.store.brought import brought_ids
from tubside.store.closed_facts import count_closed, count_open
from tubside.store.opening import Store


@dataclass(frozen=True)
class Remembered:
    """The rows, and what they were read from as a hash."""

    read_from: str
    jobs: tuple[ClosedJob, ...]

    @cached_property
    def counts(self) -> Counts:
        """What they add up to."""
        return counted(self.jobs)


_KEPT: WeakKeyDictionary[Engine, Remembered] = WeakKeyDictionary()
_READING = Lock()


def remembered(store: Store, library: Library) -> Remembered:
    """Every job that is learned from: the shop's own, and those brought in from old lists.

    Facts are only ever added, so the number of facts of each job tells whether any of it is
    other than it was when the rows were read, whichever process added them.
    """
    with _READING:
        now = _read_from(store, library)
        kept = _KEPT.get(store.engine)
        if kept is None or kept.read_from != now:
            jobs = (*closed_jobs(store, library), *brought_jobs(store))
            kept = _KEPT[store.engine] = Remembered(now, jobs)
    return kept


def _read_from(store: Store, library: Library) -> str:
    packs = [library.content_hash(JobFile(family=name)) for name in library.families()]
    with store.reading() as opened:
        told = (packs, library.models(), *_of_store(opened))
    return sha256(msgspec.json.encode(told)).hexdigest()


def _of_store(opened: Connection) -> tuple[object, ...]:
    prices = part_prices(opened)
    closed, others = count_closed(opened, KINDS), count_open(opened, LINKS)
    return closed, others, sorted(brought_ids(opened)), prices.kinds, prices.asked
