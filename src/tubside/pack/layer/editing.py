"""Change a layer: add a change, take one back, settle a conflict. Nothing is written here.

Each gives a new layer as it would be read from its file. Whether the pack can be true with
it is for :mod:`tubside.pack.layer.judging`.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

import msgspec

from tubside.errors import LayerError
from tubside.pack.layer.applying import before_weights
from tubside.pack.layer.conflicts import conflicts
from tubside.pack.layer.reading import Layer, parse_layer, standing
from tubside.pack.layer.schema import Change, Edit, Kept, LayerFile, TakenBack
from tubside.pack.layer.targets import Target, overlap, same, target_of, told, value_at
from tubside.pack.layer.writing import layer_text
from tubside.pack.reading import PackSource
from tubside.strict_yaml import Tree, or_one_of


@dataclass(frozen=True, slots=True)
class Signed:
    """Who changes something, when (UTC), and why."""

    who: str
    when: datetime
    why: str = ""


def empty_layer(family: str, file: str | None = None) -> Layer:
    """A layer without any change."""
    return _read_again(LayerFile(family=family, changes=[]), file or f"layers/{family}.yaml")


def changed(
    layer: Layer, shipped: PackSource, edits: Sequence[tuple[Target, Tree | None]], by: Signed
) -> Layer:
    """The layer with one more change: each place with what is to stand there, None for nothing.

    Raises
    ------
    LayerError
        When a place cannot be had, or says so already.
    LayerFileError
        When who or why is missing or too long, or a place stands twice.
    """
    tree = before_weights(shipped.document.tree, standing(layer))
    made, named = [], {target for target, _ in edits}
    for target, value in edits:
        target_of(told(target))
        _need_one_entry(tree, target)
        _need_holder(tree, target, named)
        was = value_at(tree, target)
        if same(was, value):
            msg = f"'{told(target)}' says so already; nothing is changed"
            raise LayerError(msg)
        made.append(Edit(what=told(target), was=was, now=value))
    when = by.when.replace(microsecond=0)
    change = Change(id=_next_id(layer), when=when, who=by.who, why=by.why, edits=made)
    return _with(layer, [*layer.changes, change])


def undone(layer: Layer, name: str, by: Signed, *, advised: bool) -> Layer:
    """The layer without one change: the last one goes, unless something was ``advised`` on it.

    Any other is recorded as taken back, so that what was advised can be told later.

    Raises
    ------
    LayerError
        When there is no such change, it was taken back, or a later one stands on it.
    """
    change = change_named(layer, name)
    if change.taken_back is not None:
        msg = f"change {name} was taken back already, by {change.taken_back.who}"
        raise LayerError(msg)
    if above := _standing_on(layer, change):
        msg = f"change {above[0].id} stands on change {name}; take that back first"
        raise LayerError(msg)
    if change is layer.changes[-1] and not advised:
        return _with(layer, layer.changes[:-1])
    gone = TakenBack(who=by.who, when=by.when.replace(microsecond=0), why=by.why or None)
    return _with_other(layer, msgspec.structs.replace(change, taken_back=gone))


def kept(layer: Layer, shipped: PackSource, name: str, by: Signed) -> Layer:
    """The layer with the conflicts of one change settled: it stays against the shipped pack.

    Raises
    ------
    LayerError
        When there is no such change, or it has no conflict.
    """
    change = change_named(layer, name)
    mine = [each for each in conflicts(shipped, layer) if each.change.id == name]
    if not mine:
        msg = f"change {name} has no conflict; nothing is to be settled"
        raise LayerError(msg)
    when = by.when.replace(microsecond=0)
    settled = [
        Kept(what=told(c.target), who=by.who, when=when, why=by.why or None, ships=c.ships)
        for c in mine
    ]
    fresh = {each.what for each in settled}
    still = [each for each in change.kept if each.what not in fresh]
    return _with_other(layer, msgspec.structs.replace(change, kept=[*still, *settled]))


def change_named(layer: Layer, name: str) -> Change:
    """One change by its id; LayerError when there is none."""
    for change in layer.changes:
        if change.id == name:
            return change
    known = [change.id for change in layer.changes]
    msg = f"the layer of {layer.family} has no change '{name}'; {or_one_of(name, known)}"
    raise LayerError(msg)


def _need_one_entry(tree: Tree, target: Target) -> None:
    if len(target) == 1 and isinstance(value_at(tree, target), dict):
        msg = f"'{target[0]}' is a whole section; name one entry of it: {target[0]} / ..."
        raise LayerError(msg)


def _need_holder(tree: Tree, target: Target, named: Collection[Target]) -> None:
    """Refuse a place below something that is not there."""
    for length in range(1, len(target)):
        above = target[:length]
        if above in named:
            msg = f"'{told(target)}' lies within another place of the same change"
            raise LayerError(msg)
        holder, place = value_at(tree, above[:-1]), value_at(tree, above)
        if isinstance(place, dict):
            continue
        if place is not None:
            msg = f"'{told(above)}' has nothing below it; change it as a whole"
            raise LayerError(msg)
        known = holder if isinstance(holder, dict) else {}
        msg = f"the pack has no '{told(above)}'; {or_one_of(above[-1], known)}"
        raise LayerError(msg)


def _standing_on(layer: Layer, change: Change) -> list[Change]:
    """Later changes in force on a place of this one."""
    mine = [target_of(edit.what) for edit in change.edits]
    later = layer.changes[layer.changes.index(change) + 1 :]
    return [
        other
        for other in later
        if other.taken_back is None
        and any(overlap(target_of(edit.what), own) for edit in other.edits for own in mine)
    ]


def _next_id(layer: Layer) -> str:
    numbers = [int(change.id) for change in layer.changes if change.id.isdecimal()]
    return str(1 + max(numbers, default=0))


def _with_other(layer: Layer, change: Change) -> Layer:
    return _with(layer, [change if old.id == change.id else old for old in layer.changes])


def _with(layer: Layer, changes: Sequence[Change]) -> Layer:
    file = layer.document.place(()).file
    return _read_again(LayerFile(family=layer.family, changes=list(changes)), file)


def _read_again(layer: LayerFile, file: str) -> Layer:
    return parse_layer(layer_text(layer), file)
