"""A file as a tree of texts, and where each part of it stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tubside.errors import Problem

Tree = str | list["Tree"] | dict[str, "Tree"]
Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """A line of a file; lines count from 1."""

    file: str
    line: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}"

    def problem(self, what: str, mend: str) -> Problem:
        """Return a problem at this place."""
        return Problem(self.file, self.line, what, mend)


@dataclass(frozen=True, slots=True)
class Document:
    """Text tree of one file (or of several merged ones) with the place of each path.

    A path lists mapping keys and list positions from the root, for example
    ``("causes", "tap-closed", "weight")`` or ``("age_mix", 3)``. The place of a
    mapping entry is the line of its key.
    """

    tree: Tree
    places: Mapping[Path, Place]

    def place(self, path: Sequence[str | int]) -> Place:
        """Return the place of ``path``, or of its nearest ancestor that is in the file."""
        known = tuple(path)
        while known not in self.places:
            known = known[:-1]
        return self.places[known]

    def problem(self, path: Sequence[str | int], what: str, mend: str) -> Problem:
        """Return a problem at the place of ``path``."""
        return self.place(path).problem(what, mend)


def shape_of(tree: Tree) -> str:
    """Return what a reader would call this piece of YAML."""
    if isinstance(tree, dict):
        return "key: value pairs"
    if isinstance(tree, list):
        return "a list"
    return f"'{tree}'" if len(tree) <= 40 else f"'{tree[:37]}...'"
