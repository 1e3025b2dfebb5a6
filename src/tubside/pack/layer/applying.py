"""A shipped pack with the shop's changes in force: the same records, read the same way.

The weights of a pack are calls per 1000, so one that is changed takes from the others or
gives to them: those the layer says nothing about give way in proportion.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from hashlib import sha256
from typing import cast

import msgspec

from tubside.errors import LayerFileError, PackError, Problem
from tubside.pack.check_numbers import CALLS
from tubside.pack.layer.reading import Layer, Standing, standing
from tubside.pack.layer.targets import Target, holder_is_there, overlap, told, value_at, with_value
from tubside.pack.reading import PackSource
from tubside.pack.schema import Pack
from tubside.strict_yaml import Document, Path, Place, Tree, convert
from tubside.strict_yaml.declared import number

WEIGHING = ("causes", "healthy")
"""The sections whose weights share the 1000 calls."""


def applied(shipped: PackSource, layer: Layer) -> PackSource:
    """The pack with the layer on it; with nothing in force, the shipped pack itself.

    A change whose place is gone from the shipped pack is left out
    (:func:`tubside.pack.layer.conflicts.conflicts` tells it). Whether the result can be
    true is for the pack's own rules; this reads its records only.

    Raises
    ------
    LayerFileError
        When the result is no pack; each problem stands at a line of layer or pack.
    """
    edits = standing(layer)
    if not edits:
        return shipped
    tree = shipped.document.tree
    fit = []
    for edit in edits:
        if holder_is_there(tree, edit.target):
            tree = with_value(tree, edit.target, edit.now)
            fit.append(edit)
    used = [edit.target for edit in fit]
    places = _moved_places(shipped.document.places, fit, layer.document.places)
    document = Document(_given_way(tree, used), places)
    try:
        pack = convert(document, Pack, PackError)
    except PackError as wrong:
        raise LayerFileError(wrong.problems) from None
    if lost := list(_lost(shipped, pack, layer)):
        raise LayerFileError(lost)
    return PackSource(pack, document, digest_with(shipped.digest, layer))


def digest_with(digest: str, layer: Layer) -> str:
    """The content hash of a shipped pack of this ``digest`` with the layer on it [hex].

    Only what is in force counts, not who said so and why; with nothing in force it is
    the digest of the shipped pack.
    """
    edits = [(list(edit.target), edit.now) for edit in standing(layer)]
    if not edits:
        return digest
    return sha256(digest.encode() + b"\0" + msgspec.json.encode(edits)).hexdigest()


def before_weights(shipped: Tree, edits: Sequence[Standing]) -> Tree:
    """The tree with these edits, before any weight gives way: what ``was`` is told from."""
    for edit in edits:
        if holder_is_there(shipped, edit.target):
            shipped = with_value(shipped, edit.target, edit.now)
    return shipped


def way_given(shipped: Tree, layer: Layer) -> float | None:
    """By which factor the weights that the layer leaves alone change; None for not at all."""
    edits = standing(layer)
    tree = before_weights(shipped, edits)
    return _factor(tree, [edit.target for edit in edits])


def _moved_places(
    places: Mapping[Path, Place], edits: Sequence[Standing], own: Mapping[Path, Place]
) -> dict[Path, Place]:
    """Where all stands: what an edit wrote where the layer's file says it, the last word of each.

    Each place of pack and layer is looked at once, however many edits there are.
    """
    last: dict[Path, int] = {edit.target: number for number, edit in enumerate(edits)}
    by_path = {(*edit.path, "now"): number for number, edit in enumerate(edits)}
    moved = {path: place for path, place in places.items() if _latest(path, last) is None}
    for path, place in own.items():
        number = next((by_path[start] for start in _starts(path) if start in by_path), None)
        if number is None or edits[number].now is None:
            continue
        there = (*edits[number].target, *path[len(edits[number].path) + 1 :])
        if _latest(there, last) == number:
            moved[there] = place
    return moved


def _latest(path: Path, last: Mapping[Path, int]) -> int | None:
    """The last edit of a place or of one that holds it; None where no edit speaks of it."""
    return max((last[start] for start in _starts(path) if start in last), default=None)


def _starts(path: Path) -> Iterator[Path]:
    return (path[:length] for length in range(1, len(path) + 1))


def _given_way(tree: Tree, targets: Sequence[Target]) -> Tree:
    factor = _factor(tree, targets)
    if factor is None:
        return tree
    for target, weight in _weights(tree).items():
        if not any(overlap(target, other) for other in targets):
            tree = with_value(tree, target, f"{weight * factor:.9g}")
    return tree


def _factor(tree: Tree, targets: Sequence[Target]) -> float | None:
    """How far weights left alone have to give way; None where nothing can or need be done."""
    touched = [target for target in targets if target[0] in WEIGHING]
    if not any(len(target) < 3 or target[2] == "weight" for target in touched):
        return None
    own = rest = 0.0
    for target, weight in _weights(tree).items():
        if any(overlap(target, other) for other in touched):
            own += weight
        else:
            rest += weight
    if rest <= 0.0 or own >= CALLS or own + rest == CALLS:
        return None
    return (CALLS - own) / rest


def _weights(tree: Tree) -> dict[Target, float]:
    found: dict[Target, float] = {}
    for section in WEIGHING:
        for name in cast("Mapping[str, Tree]", value_at(tree, (section,)) or {}):
            text = value_at(tree, (section, name, "weight"))
            weight = number(text) if isinstance(text, str) else None
            if weight is not None:
                found[(section, name, "weight")] = weight
    return found


def _lost(shipped: PackSource, pack: Pack, layer: Layer) -> list[Problem]:
    """Ids of the shipped pack that the result lacks: jobs of before may name them."""
    after = set(_ids(pack))
    gone = [target for target in _ids(shipped.pack) if target not in after]
    problems = []
    for target in gone:
        by = next(edit for edit in reversed(standing(layer)) if overlap(edit.target, target))
        what = f"'{told(target)}' came with the pack and would be gone; jobs may name it"
        mend = "leave it, with another weight or other words"
        problems.append(layer.document.problem(by.path, what, mend))
    return problems


def _ids(pack: Pack) -> list[Target]:
    sections = [name for name in pack.__struct_fields__ if isinstance(getattr(pack, name), dict)]
    found: list[Target] = [(name, each) for name in sections for each in getattr(pack, name)]
    for name, finding in pack.findings.items():
        kind = "graded" if finding.graded else "kinds"
        found += (("findings", name, kind, outcome) for outcome in finding.outcomes)
    for name, variant in pack.variants.items():
        found += (("variants", name, "values", value) for value in variant.values)
    return found
