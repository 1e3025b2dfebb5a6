"""Where the lines of many edits stand: as if each had been written after the one before."""

from __future__ import annotations

from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from own_changes import BY
from tubside.pack.layer.applying import _moved_places
from tubside.pack.layer.reading import Standing
from tubside.pack.layer.schema import Change, Edit
from tubside.strict_yaml import Path, Place

TARGETS = [path for length in (1, 2, 3) for path in product("ab", repeat=length)]
PACK: dict[Path, Place] = {target: Place("pack.yaml", n) for n, target in enumerate(TARGETS)}
CHANGE = Change("1", BY.when, BY.who, BY.why, [Edit("a / b", now="1")])
BELOW: tuple[Path, ...] = ((), ("a",), ("b", "a"))
"""What an edit writes: a place, and some below it."""


def one_by_one(edits: list[Standing], own: dict[Path, Place]) -> dict[Path, Place]:
    """The same, the slow and plain way."""
    places = dict(PACK)
    for edit in edits:
        for path in [path for path in places if path[: len(edit.target)] == edit.target]:
            del places[path]
        start: Path = (*edit.path, "now")
        for path, place in own.items():
            if edit.now is not None and path[: len(start)] == start:
                places[(*edit.target, *path[len(start) :])] = place
    return places


@settings(max_examples=100)
@given(st.lists(st.tuples(st.sampled_from(TARGETS), st.booleans()), max_size=6))
def test_many_edits_at_once_are_as_one_by_one(told: list[tuple[tuple[str, ...], bool]]) -> None:
    """Tests edits of the same place, within each other, and that take places away."""
    edits: list[Standing] = []
    own: dict[Path, Place] = {("changes",): Place("layer.yaml", 1)}
    for number, (target, there) in enumerate(told):
        path: Path = ("changes", 0, "edits", number)
        edits.append(Standing(CHANGE, target, None, "x" if there else None, path))
        own |= {(*path, "now", *more): Place("layer.yaml", len(own)) for more in BELOW}
        own[(*path, "what")] = Place("layer.yaml", len(own))
    assert _moved_places(PACK, edits, own) == one_by_one(edits, own)
