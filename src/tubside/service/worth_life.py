"""Where the life that repair or replace reckons with is from: the pack, or the shop's layer."""

from __future__ import annotations

from collections.abc import Mapping

from tubside.errors import LayerFileError
from tubside.pack.layer.reading import standing
from tubside.pack.layer.targets import Target, overlap
from tubside.service.shop_layer import ShopLayers

PLACES: Mapping[str, Target] = {
    "shape": ("costs", "life_shape"),
    "scale_years": ("costs", "life_scale_years"),
}
"""Assumption -> where the pack has it."""
NO_CHANGES: Mapping[str, str] = {}


def own_words(layers: ShopLayers | None, family: str) -> Mapping[str, str]:
    """Assumption -> who of the shop said so, when and why; those of the pack are left out."""
    if layers is None:
        return NO_CHANGES
    try:
        edits = standing(layers.read(family))
    except LayerFileError:
        return NO_CHANGES  # the shipped pack is used then, and the pages say why
    found = {}
    for edit in edits:
        for name, place in PLACES.items():
            if overlap(edit.target, place):
                made = edit.change
                found[name] = f"the shop's own change of {made.when.date()}: {made.why}"
    return found
