"""Reading a layer: strict YAML, the declared shape, then what the shape does not see."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from tubside import strict_yaml
from tubside.errors import LayerError, LayerFileError, Problem
from tubside.pack.layer.schema import Change, Kept, LayerFile, TakenBack
from tubside.pack.layer.targets import Target, same, target_of
from tubside.strict_yaml import Document, Tree
from tubside.strict_yaml.reading import decoded

ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
LONGEST_ID = 40
LONGEST_WHO = 80
LONGEST_WHY = 500
LARGEST = 1_000_000
"""How large a layer's file may be [bytes]."""

Wrong = tuple[strict_yaml.Path, str, str]


@dataclass(frozen=True, slots=True)
class Layer:
    """A layer as written, and the place of each of its parts."""

    file: LayerFile
    document: Document

    @property
    def family(self) -> str:
        """The family whose pack it changes."""
        return self.file.family

    @property
    def changes(self) -> Sequence[Change]:
        """All changes, the oldest first, those taken back too."""
        return self.file.changes


@dataclass(frozen=True, slots=True)
class Standing:
    """One edit in force: the change it belongs to, its place, and where it is written."""

    change: Change
    target: Target
    was: Tree | None
    now: Tree | None
    path: strict_yaml.Path


def standing(layer: Layer) -> list[Standing]:
    """Every edit in force, the oldest first."""
    return [
        Standing(
            change,
            target_of(edit.what),
            edit.was,  # type: ignore[arg-type]  # a tree: the reader makes no other
            edit.now,  # type: ignore[arg-type]
            ("changes", i, "edits", j),
        )
        for i, change in enumerate(layer.changes)
        if change.taken_back is None
        for j, edit in enumerate(change.edits)
    ]


def read_layer(path: Path, family: str | None = None) -> Layer:
    """The layer in the file at ``path``; its family must be ``family`` where one is given.

    Raises
    ------
    LayerFileError
        With every problem found: file and line, what, and how to mend it.
    """
    name = f"{path.parent.name}/{path.name}"
    try:
        content = path.read_bytes()
    except OSError as wrong:
        what = f"cannot be read ({wrong.strerror or wrong})"
        raise LayerFileError([Problem(name, 1, what, "check its permissions")]) from wrong
    return layer_from(content, name, family)


def layer_from(content: bytes, file: str, family: str | None = None) -> Layer:
    """Like :func:`read_layer`, from the bytes of a file."""
    if len(content) > LARGEST:
        what = f"the file has {len(content)} bytes, more than {LARGEST}"
        raise LayerFileError([Problem(file, 1, what, "take old changes out of it")])
    return parse_layer(decoded(content, file, LayerFileError), file, family)


def parse_layer(text: str, file: str, family: str | None = None) -> Layer:
    """Like :func:`read_layer`, from the text of a file."""
    document = strict_yaml.read_text(text, file, LayerFileError)
    layer = Layer(strict_yaml.convert(document, LayerFile, LayerFileError), document)
    found = [document.problem(*wrong) for wrong in _problems(layer, family)]
    if found:
        raise LayerFileError(sorted(set(found)))
    return layer


def _problems(layer: Layer, family: str | None) -> Iterator[Wrong]:
    if family is not None and layer.family != family:
        what = f"the layer is for the family '{layer.family}', not '{family}'"
        yield ("family",), what, "take it to that family"
    seen: set[str] = set()
    for at, change in enumerate(layer.changes):
        path: strict_yaml.Path = ("changes", at)
        yield from _wrong_id(change, (*path, "id"), seen)
        yield from _wrong_said(change, path)
        yield from _wrong_moments(change, path)
        yield from _wrong_edits(change, path)
        yield from _wrong_kept(change, path)


def _wrong_id(change: Change, path: strict_yaml.Path, seen: set[str]) -> Iterator[Wrong]:
    if change.id in seen:
        yield path, f"two changes have the id '{change.id}'", "give each its own"
    if not ID.fullmatch(change.id) or len(change.id) > LONGEST_ID:
        yield path, f"{change.id!a:.60} is no id of a change", "write a number or a plain word"
    seen.add(change.id)


def _wrong_said(change: Change, path: strict_yaml.Path) -> Iterator[Wrong]:
    for name, said, most in (("who", change.who, LONGEST_WHO), ("why", change.why, LONGEST_WHY)):
        yield from _wrong_text(said, (*path, name), most)
    later: list[tuple[strict_yaml.Path, TakenBack | Kept]] = [
        ((*path, "kept", at), kept) for at, kept in enumerate(change.kept)
    ]
    if change.taken_back is not None:
        later.insert(0, ((*path, "taken_back"), change.taken_back))
    for place, signed in later:
        yield from _wrong_text(signed.who, (*place, "who"), LONGEST_WHO)
        if signed.why is not None:
            yield from _wrong_text(signed.why, (*place, "why"), LONGEST_WHY)


def _wrong_text(said: str, path: strict_yaml.Path, most: int) -> Iterator[Wrong]:
    if not said.strip() or said != said.strip():
        yield path, f"'{path[-1]}' is empty or has spaces around it", "write a few words"
    elif len(said) > most:
        yield path, f"'{path[-1]}' has {len(said)} characters", f"write {most} at most"


def _wrong_moments(change: Change, path: strict_yaml.Path) -> Iterator[Wrong]:
    moments: list[tuple[strict_yaml.Path, datetime]] = [((*path, "when"), change.when)]
    if change.taken_back is not None:
        moments.append(((*path, "taken_back", "when"), change.taken_back.when))
    moments += [((*path, "kept", at, "when"), kept.when) for at, kept in enumerate(change.kept)]
    for place, moment in moments:
        if moment.utcoffset() != timedelta(0):
            yield place, "the moment is not in UTC", "write it like 2026-03-01T09:00:00Z"
            return
    for place, moment in moments[1:]:
        if moment < change.when:
            yield place, "this is before the change was made", "mend one of the two moments"


def _wrong_edits(change: Change, path: strict_yaml.Path) -> Iterator[Wrong]:
    if not change.edits:
        yield (*path, "edits"), f"change '{change.id}' changes nothing", "write at least one edit"
    known: set[Target] = set()
    above: set[Target] = set()  # the known ones and all that holds one of them
    for at, edit in enumerate(change.edits):
        place: strict_yaml.Path = (*path, "edits", at)
        try:
            target = target_of(edit.what)
        except LayerError as wrong:
            yield (*place, "what"), str(wrong).partition("; ")[0], "name a place of the pack by ids"
            continue
        starts = [target[:length] for length in range(1, len(target) + 1)]
        if target in above or not known.isdisjoint(starts):
            what = f"change '{change.id}' changes '{edit.what}' twice"
            yield (*place, "what"), what, "keep one, or make two changes of it"
        known.add(target)
        above.update(starts)
        if same(edit.was, edit.now):  # type: ignore[arg-type]  # trees: the reader makes no other
            what = f"'{edit.what}' says the same before and after"
            yield place, what, "write 'was', 'now' or both, not equal"


def _wrong_kept(change: Change, path: strict_yaml.Path) -> Iterator[Wrong]:
    edited = [edit.what for edit in change.edits]
    for at, kept in enumerate(change.kept):
        if kept.what not in edited:
            what = f"change '{change.id}' does not change '{kept.what}'"
            yield (*path, "kept", at, "what"), what, strict_yaml.or_one_of(kept.what, edited)
