"""Layers on the small pack, for tests."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

from tubside.pack.layer.editing import Signed, changed, empty_layer, undone
from tubside.pack.layer.reading import Layer
from tubside.pack.layer.targets import target_of
from tubside.pack.reading import PackSource
from tubside.strict_yaml import Tree

BY = Signed("Ada", datetime(2026, 3, 1, 9, 0, tzinfo=UTC), "seen on nine of forty calls")
Wish = tuple[str, Tree | None]
"""A place as people write it, and what is to stand there."""


def change(layer: Layer, pack: PackSource, wishes: Sequence[Wish], by: Signed = BY) -> Layer:
    """The layer with one more change."""
    return changed(layer, pack, [(target_of(where), value) for where, value in wishes], by)


def own_layer(pack: PackSource, *wishes: Wish) -> Layer:
    """A layer of one change."""
    return change(empty_layer(pack.pack.family), pack, wishes)


def take_back(layer: Layer, name: str, *, advised: bool = False) -> Layer:
    """The layer without a change."""
    return undone(layer, name, BY, advised=advised)
