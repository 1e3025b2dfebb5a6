"""Whether anything was advised from a pack with the shop's layer as it stands now."""

from __future__ import annotations

from tubside.service.library import Library
from tubside.store.facts import any_computed_from
from tubside.store.opening import Store


def advised_on(store: Store, library: Library, family: str) -> bool:
    """Whether a fact of some job names the family's pack, layer and models of this moment.

    A change that nothing was advised on can be taken back without a trace.
    """
    with store.reading() as opened:
        return any_computed_from(opened, library.content_hashes(family))
