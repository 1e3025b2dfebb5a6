"""A pack with accepted proposals in it, by the very code that puts a shop's layer on a pack."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

from tubside.learning.proposal import Proposal
from tubside.pack.layer.applying import applied
from tubside.pack.layer.editing import Signed, changed, empty_layer
from tubside.pack.layer.targets import Target, same, value_at
from tubside.pack.reading import PackSource
from tubside.strict_yaml import Tree

WHO = "learning"
WHY = "from closed jobs"
WHEN = datetime(2000, 1, 1, tzinfo=UTC)
"""Of a layer that is made only to be looked at: who and when do not alter the pack."""


def edits_of(source: PackSource, chosen: Sequence[Proposal]) -> list[tuple[Target, Tree | None]]:
    """What a layer has to say for these proposals; what the pack says already is left out."""
    tree = source.document.tree
    return [
        (target, value)  # type: ignore[misc]  # texts, lists and records of texts are trees
        for proposal in chosen
        for target, value in proposal.edits
        if not same(value_at(tree, target), value)  # type: ignore[arg-type]
    ]


def adopted(source: PackSource, chosen: Sequence[Proposal]) -> PackSource:
    """The pack as it would be with these proposals in the shop's layer.

    Weights left alone give way, as they do under any layer. Whether the result passes all
    rules of a pack is for :func:`tubside.pack.layer.judging.judged`.

    Raises
    ------
    LayerError
        When a place is gone from the pack.
    """
    edits = edits_of(source, chosen)
    if not edits:
        return source
    layer = empty_layer(source.pack.family)
    return applied(source, changed(layer, source, edits, Signed(WHO, WHEN, WHY)))
