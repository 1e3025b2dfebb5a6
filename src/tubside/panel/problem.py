"""One thing that is wrong in a model's file."""

from __future__ import annotations

from dataclasses import dataclass

from tubside.strict_yaml import Path


@dataclass(frozen=True, slots=True)
class Wrong:
    """One thing wrong at a path of the file."""

    path: Path
    what: str
    mend: str
