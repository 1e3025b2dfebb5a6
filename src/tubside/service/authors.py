"""Who wrote a fact, where and when."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Author:
    """Who writes facts on this server: a device, its clock, and a source of ids.

    ``device`` is a name of the server's own, such as ``server`` or one a login: a
    phone that numbers its facts itself has another. A page that must not be counted
    twice puts an id into its form and hands it back as ``fresh_id``: the same fact
    under the same id is kept once.
    """

    device: str
    clock: Callable[[], datetime]
    fresh_id: Callable[[], str]


@dataclass(frozen=True, slots=True)
class Written:
    """Authorship of a fact made elsewhere, such as on a phone without signal."""

    id: str
    device: str
    sequence: int
    at: datetime
    seen: Mapping[str, int] = field(default_factory=dict)
    computed_from: str | None = None


@dataclass(frozen=True, slots=True)
class Recorded:
    """What became of facts sent: ids now kept, and those that were there before."""

    added: tuple[str, ...]
    known: tuple[str, ...]
