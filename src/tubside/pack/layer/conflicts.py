"""Where the shipped pack has moved on under the shop's changes: told, and theirs kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from tubside.errors import Problem
from tubside.pack.layer.reading import Layer, Standing, standing
from tubside.pack.layer.schema import Change
from tubside.pack.layer.targets import Target, holder_is_there, same, told, value_at, with_value
from tubside.pack.layer.writing import value_text
from tubside.pack.reading import PackSource
from tubside.strict_yaml import Tree

Kind = Literal["differs", "gone"]


@dataclass(frozen=True, slots=True)
class Conflict:
    """A change in force that was made on something the shipped pack no longer says.

    Parameters
    ----------
    kind
        ``differs``: the change is in force. ``gone``: its place is no longer in the pack,
        so it waits without effect.
    was
        What the pack said when it was changed; None for nothing.
    ships
        What it says now, with earlier changes of the shop's on it; None for nothing.
    own
        What the shop says; None for nothing.
    """

    kind: Kind
    change: Change
    target: Target
    was: Tree | None
    ships: Tree | None
    own: Tree | None
    line: int

    def __str__(self) -> str:
        said = (
            f"{told(self.target)}: it said {_said(self.was)} when {self.change.who} changed it "
            f"on {self.change.when:%Y-%m-%d}, the pack says {_said(self.ships)} now, "
            f"you say {_said(self.own)}"
        )
        return f"{said}; no longer in the pack, so it has no effect" * (self.kind == "gone") or said

    def problem(self, file: str) -> Problem:
        """The same as a problem in the layer's file."""
        return Problem(file, self.line, str(self), "keep yours, or take the change back")


def conflicts(shipped: PackSource, layer: Layer) -> list[Conflict]:
    """Every conflict of the layer with the pack that is shipped now, the oldest first.

    One that was settled by keeping the shop's value is not told again, until the shipped
    pack changes once more. Nor is one where both say the same now.
    """
    tree, found = shipped.document.tree, []
    for edit in standing(layer):
        ships = value_at(tree, edit.target)
        there = holder_is_there(tree, edit.target)
        moved_on = not same(ships, edit.was) and not same(ships, edit.now)
        if (moved_on or not there) and not _settled(edit, ships):
            line = layer.document.place(edit.path).line
            kind: Kind = "differs" if there else "gone"
            found.append(Conflict(kind, edit.change, edit.target, edit.was, ships, edit.now, line))
        if there:
            tree = with_value(tree, edit.target, edit.now)
    return found


def _settled(edit: Standing, ships: Tree | None) -> bool:
    return any(
        kept.what == told(edit.target) and same(kept.ships, ships)  # type: ignore[arg-type]  # a tree: the reader makes no other
        for kept in edit.change.kept
    )


def _said(value: Tree | None) -> str:
    return "nothing" if value is None else value_text(value)
