"""A shop's database moved from its file to a PostgreSQL server: all of it, or nothing."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy.exc import DBAPIError

from tubside.errors import StoreError
from tubside.store.content import (
    Content,
    content_by_table,
    copy_rows,
    count_rows,
    is_empty,
)
from tubside.store.model_files import KINDS, Kind, lay_out, models_at
from tubside.store.opening import Store, unreachable

Told = Callable[[str, int, int], None]
"""Is told a table, how many of its rows went over, and how many there are."""


@dataclass(frozen=True, slots=True)
class Moved:
    """What went over, table by table, equal on both; and the folders made beside it."""

    tables: dict[str, Content]
    folders: tuple[Path, ...]


def move_rows(source: Store, target: Store, homes: tuple[Path, Path], told: Told) -> Moved:
    """Copy every row of a file into an empty server, and prove the two equal before it counts.

    Nobody else can write to either meanwhile.

    Parameters
    ----------
    homes : (Path, Path)
        Where models and layers lie now, and where they lie with a server; the same folder
        is left as it is.

    Raises
    ------
    StoreError
        When the server holds rows already, other models or layers are in the way, or the two
        are not equal.
    """
    try:
        with source.writing() as old, _folders(*homes) as made, target.writing() as new:
            if not is_empty(new):
                msg = "the server's database is not empty; make a new one and name that"
                raise StoreError(msg)
            copy_rows(old, new, _counting(count_rows(old), told))
            wanted, found = content_by_table(old), content_by_table(new)
            _same(found, wanted)
    except DBAPIError as wrong:
        raise unreachable(target.engine.url, wrong) from wrong
    return Moved(wanted, made)


def _counting(all_rows: dict[str, int], told: Told) -> Callable[[str, int], None]:
    over = dict.fromkeys(all_rows, 0)

    def done(table: str, rows: int) -> None:
        over[table] += rows
        told(table, over[table], all_rows[table])

    return done


def _same(found: dict[str, Content], wanted: dict[str, Content]) -> None:
    unlike = [name for name in {**wanted, **found} if found.get(name) != wanted.get(name)]
    if unlike:
        msg = f"the server does not hold the same in {', '.join(sorted(unlike))}; nothing was moved"
        raise StoreError(msg)


@contextmanager
def _folders(old: Path, new: Path) -> Iterator[tuple[Path, ...]]:
    """Copy models and layers to where the server's are; take them away if it comes to nought."""
    made: list[Path] = []
    try:
        for kind in KINDS if old.absolute() != new.absolute() else ():
            place = _laid_out(old / kind.folder, new / kind.folder, kind)
            if place is not None:
                made.append(place)
        yield tuple(made)
    except BaseException:
        for place in made:
            shutil.rmtree(place)
        raise


def _laid_out(old: Path, new: Path, kind: Kind) -> Path | None:
    files = models_at(old, kind).files
    there = models_at(new, kind).files
    if not files or files == there:
        return None
    if new.exists():
        msg = f"other {kind.word}s are in {new}; move that folder away first"
        raise StoreError(msg)
    new.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    lay_out(files, new, kind)
    return new
