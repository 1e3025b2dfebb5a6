"""Bring old jobs in: looked at first, all or none, and nothing twice."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

import msgspec

from tubside.errors import HistoryError
from tubside.learning.history import ClosedJob, job_of, row_of
from tubside.service.learning.old_columns import Layout, guessed
from tubside.service.learning.old_lists import OldList, lines_alike, read_old_list
from tubside.service.learning.old_rows import Taken, taken
from tubside.service.library import Library
from tubside.store.brought import brought_ids, brought_rows, drop_brought, keep_brought
from tubside.store.opening import Store
from tubside.store.settings import keep_setting, setting

UNDER = "learning.layout."


@dataclass(frozen=True, slots=True)
class Brought:
    """What a list would bring, or brought: how it was read, what was taken, how much is new."""

    sheet: OldList
    layout: Layout
    taken: Taken
    new: int
    kept: bool

    @property
    def alike(self) -> tuple[int, ...]:
        """Lines that say in every column what one before them says; each counts as a job."""
        return lines_alike(self.sheet)

    @property
    def good(self) -> bool:
        """Whether every row can be taken, or is left out on purpose."""
        return not self.taken.problems and not self.taken.unknown_words


def looked_at(
    store: Store,
    library: Library,
    content: bytes,
    now: datetime,
    layout: Layout | None = None,
    *,
    anew: bool = False,
) -> Brought:
    """What a list would bring; nothing is kept but the layout, if one is given.

    Words told before for such a list still count, unless all are to be told ``anew``.

    Raises
    ------
    HistoryError
        When the file is no table.
    """
    sheet = read_old_list(content)
    before = _remembered(store, sheet)
    if layout is not None and before is not None and not anew:
        layout = _with_words(layout, before)
    if layout is not None:
        _remember(store, sheet, layout)
    told = layout or guessed(sheet, before)
    packs = {name: library.family(name).pack for name in library.families()}
    found = taken(sheet, told, packs, now.date())
    with store.reading() as opened:
        new = len(found.jobs.keys() - brought_ids(opened))
    return Brought(sheet, told, found, new, kept=False)


def bring_in(store: Store, library: Library, content: bytes, now: datetime) -> Brought:
    """Keep all jobs of a list in one transaction; those that are there are not kept twice.

    Raises
    ------
    HistoryError
        When a single row is wrong; then nothing is kept.
    """
    found = looked_at(store, library, content, now)
    if not found.good:
        msg = (
            f"{len(found.taken.problems)} rows are wrong and {len(found.taken.unknown_words)} "
            "words are not known; nothing was kept"
        )
        raise HistoryError(msg)
    rows = {name: _text(job) for name, job in found.taken.jobs.items()}
    with store.writing() as opened:
        there = brought_ids(opened)
        fresh = {name: text for name, text in rows.items() if name not in there}
        keep_brought(opened, fresh, now)
    return Brought(found.sheet, found.layout, found.taken, len(fresh), kept=True)


def brought_jobs(store: Store) -> tuple[ClosedJob, ...]:
    """Every job that was brought in, by its id."""
    with store.reading() as opened:
        rows = brought_rows(opened)
    return tuple(job_of(msgspec.json.decode(text, type=dict[str, str])) for text in rows.values())


def take_out(store: Store) -> int:
    """Take all that was brought in out again; how many jobs went."""
    with store.writing() as opened:
        return drop_brought(opened)


def _text(job: ClosedJob) -> str:
    return msgspec.json.encode(row_of(job)).decode()


def _with_words(layout: Layout, before: Layout) -> Layout:
    """The layout, with the words that were told before."""
    fields = {*before.words, *layout.words}
    words = {it: before.words.get(it, {}) | layout.words.get(it, {}) for it in fields}
    return msgspec.structs.replace(layout, words=words)


def _key(sheet: OldList) -> str:
    names = "\x1f".join(sheet.columns)
    return f"{UNDER}{sha256(names.encode()).hexdigest()[:20]}"


def _remembered(store: Store, sheet: OldList) -> Layout | None:
    with store.reading() as opened:
        text = setting(opened, _key(sheet))
    return None if text is None else msgspec.json.decode(text, type=Layout)


def _remember(store: Store, sheet: OldList, layout: Layout) -> None:
    with store.writing() as opened:
        keep_setting(opened, _key(sheet), msgspec.json.encode(layout).decode())
