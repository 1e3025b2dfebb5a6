"""The shape of a layer's YAML file: a dated list of changes, nothing computed.

Values are plain text trees as they would stand in the pack's own files; a value left
out stands for "not there", so an entry can be added or removed.
"""

from __future__ import annotations

from datetime import datetime

import msgspec


class Record(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Base of every record: unknown keys are refused."""


class Edit(Record):
    """One place of the pack: what the pack said before, and what the shop says."""

    what: str
    was: object = None
    now: object = None


class TakenBack(Record):
    """Who no longer means a change, since when (UTC), and why where that was said."""

    who: str
    when: datetime
    why: str | None = None


class Kept(Record):
    """A conflict that somebody settled: the change stays against what the pack ships now."""

    what: str
    who: str
    when: datetime
    why: str | None = None
    ships: object = None


class Change(Record):
    """What somebody changed at once, and why; ``when`` is UTC."""

    id: str
    when: datetime
    who: str
    why: str
    edits: list[Edit]
    kept: list[Kept] = msgspec.field(default_factory=list)
    taken_back: TakenBack | None = None


class LayerFile(Record):
    """All of a shop's changes on the pack of one family, the oldest first."""

    family: str
    changes: list[Change]
