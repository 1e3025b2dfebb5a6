"""A sheet of paper as blocks: what every document is turned into before it is typeset."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from tubside.documents.parties import Acceptance, DocumentMachine, Party

Cell = tuple[str, str]  # the words, and smaller words under them


@dataclass(frozen=True, slots=True)
class Strip:
    """What can hurt, in a thick frame with its word; ``stop`` where something failed."""

    head: str
    lines: tuple[str, ...]
    stop: bool = False


@dataclass(frozen=True, slots=True)
class Prose:
    """A heading and paragraphs."""

    head: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Points:
    """A heading and a list."""

    head: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Pairs:
    """A heading and what stands for what."""

    head: str
    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its title, its share of the width (0: as wide as it needs), its side."""

    title: str
    share: int = 0
    right: bool = False


@dataclass(frozen=True, slots=True)
class Rows:
    """A table; its head is repeated on every page."""

    head: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]


@dataclass(frozen=True, slots=True)
class Sums:
    """Amounts below one another; a True makes a row stand out."""

    head: str
    rows: tuple[tuple[str, str, bool], ...]


@dataclass(frozen=True, slots=True)
class Square:
    """A code for a camera, with words beside it."""

    head: str
    lines: tuple[str, ...]
    picture: bytes  # SVG


@dataclass(frozen=True, slots=True)
class Photos:
    """Photos, two in a row."""

    head: str
    photos: tuple[tuple[bytes, str], ...]  # JPEG or PNG, and its words


Block = Strip | Prose | Points | Pairs | Rows | Sums | Square | Photos


@dataclass(frozen=True, slots=True)
class Attached:
    """A file inside the PDF that holds the same for machines."""

    name: str
    content: bytes
    mime: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """All of a document."""

    title: str
    number: str
    dated: date
    shown_date: str = ""  # instead of ``dated``, such as with a time
    sender: Party
    to: tuple[str, ...]
    particulars: tuple[tuple[str, str], ...] = ()
    blocks: tuple[Block, ...] = ()
    attached: Attached | None = None
    mark: str = ""  # such as "draft"


def prose(head: str, *lines: str) -> tuple[Prose, ...]:
    """Return a block of what is not empty, or nothing."""
    said = tuple(line for line in lines if line)
    return (Prose(head, said),) if said else ()


def points(head: str, lines: Sequence[str]) -> tuple[Points, ...]:
    """Return a list, or nothing."""
    return (Points(head, tuple(lines)),) if lines else ()


def strip(head: str, lines: Sequence[str], *, stop: bool = False) -> tuple[Strip, ...]:
    """Return a framed strip, or nothing."""
    return (Strip(head, tuple(lines), stop),) if lines else ()


def said(rows: Iterable[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """Return the pairs that say something."""
    return tuple((name, value) for name, value in rows if value)


def day(when: date | None) -> str:
    """Return a day so that no reader swaps day and month; empty for none.

    >>> day(date(2026, 3, 2))
    '2 March 2026'
    """
    return f"{when.day} {when:%B %Y}" if when else ""


def machine_rows(machine: DocumentMachine | None) -> tuple[tuple[str, str], ...]:
    """Return what is known of a machine."""
    if machine is None:
        return ()
    return said(
        (
            ("Machine", machine.kind),
            ("Model", machine.model),
            ("Serial number", machine.serial),
            ("Where", machine.place),
        )
    )


def accepted(acceptance: Acceptance | None, empty: str) -> tuple[Block, ...]:
    """Return who agreed to what, or lines to sign when ``empty`` says what for."""
    if acceptance is not None:
        told = f"{acceptance.name}, {acceptance.when}, {acceptance.how}"
        return prose(
            "Agreed",
            f"\N{LEFT DOUBLE QUOTATION MARK}{acceptance.wording}\N{RIGHT DOUBLE QUOTATION MARK}",
            told,
        )
    if not empty:
        return ()
    line = "_" * 34
    return (Pairs(empty, (("Name", line), ("Date", line), ("Signature", line))),)
