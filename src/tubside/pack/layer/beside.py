"""The shop's values beside the shipped ones, place by place."""

from __future__ import annotations

from dataclasses import dataclass

from tubside.pack.layer.applying import before_weights
from tubside.pack.layer.conflicts import Conflict, conflicts
from tubside.pack.layer.reading import Layer, Standing, standing
from tubside.pack.layer.schema import Change
from tubside.pack.layer.targets import Target, holder_is_there, overlap, same, value_at
from tubside.pack.layer.writing import value_text
from tubside.pack.reading import PackSource
from tubside.strict_yaml import Tree


@dataclass(frozen=True, slots=True)
class Beside:
    """One place that the shop says something of its own about.

    Parameters
    ----------
    ships
        What the shipped pack says there now; None for nothing.
    own
        What the shop says there; None for nothing.
    changes
        The changes in force on it, the oldest first.
    conflict
        Where the shipped pack has moved on since, else None.
    """

    target: Target
    ships: Tree | None
    own: Tree | None
    changes: tuple[Change, ...]
    conflict: Conflict | None

    @property
    def agrees(self) -> bool:
        """Whether the shipped pack says the same by now: the change can be taken back."""
        return same(self.ships, self.own)

    @property
    def texts(self) -> tuple[str, str]:
        """Both values in one line each, a dash for nothing."""
        ships, own = ("-" if v is None else value_text(v) for v in (self.ships, self.own))
        return ships, own


def side_by_side(shipped: PackSource, layer: Layer) -> list[Beside]:
    """Every place with a change in force, in the order in which each was first changed."""
    last: dict[Target, Standing] = {}
    of: dict[Target, list[Change]] = {}
    for edit in standing(layer):
        last[edit.target] = edit
        of.setdefault(edit.target, []).append(edit.change)
    open_ones = conflicts(shipped, layer)
    own = before_weights(shipped.document.tree, standing(layer))
    return [
        Beside(
            target,
            value_at(shipped.document.tree, target),
            value_at(own, target) if holder_is_there(own, target) else edit.now,
            tuple(of[target]),
            next((each for each in open_ones if each.target == target), None),
        )
        for target, edit in last.items()
        if not _covered(edit, last)
    ]


def _covered(edit: Standing, last: dict[Target, Standing]) -> bool:
    """Whether a later change of a larger place has replaced this one."""
    return any(
        len(other) < len(edit.target)
        and overlap(other, edit.target)
        and int(later.path[1]) > int(edit.path[1])
        for other, later in last.items()
    )
