"""Changing a layer: a change, its undo, a conflict settled; and any edit there may be."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from own_changes import BY, change, own_layer, take_back
from tubside.errors import LayerError, LayerFileError, Problem
from tubside.pack.check import check_pack
from tubside.pack.layer.applying import applied
from tubside.pack.layer.beside import side_by_side
from tubside.pack.layer.conflicts import conflicts
from tubside.pack.layer.editing import Signed, empty_layer, kept
from tubside.pack.layer.judging import judged
from tubside.pack.layer.targets import told
from tubside.pack.layer.writing import layer_text
from tubside.pack.reading import PackSource, read_pack
from tubside.strict_yaml import Tree

SMALL = read_pack(Path(__file__).parents[1] / "small_pack")
AGEING = "causes / pump-failed / ageing"
TEXTS = ["", "0", "1", "-1", "0.5", "70", "1e300", "yes", "tap-closed", "wont_drain", "no such"]


def errors(source: PackSource) -> tuple[Problem, ...]:
    """What is wrong by the pack's own rules."""
    return check_pack(source).errors


def places(tree: Tree, above: tuple[str, ...] = ()) -> list[tuple[str, ...]]:
    """Every place below a tree that has a name of its own."""
    if not isinstance(tree, dict):
        return []
    found = [(*above, name) for name in tree]
    return found + [below for name in tree for below in places(tree[name], (*above, name))]


PLACES = [place for place in places(SMALL.document.tree) if place != ("family",)]
VALUES = st.none() | st.sampled_from(TEXTS) | st.lists(st.sampled_from(TEXTS), max_size=2)
WISHES = st.tuples(st.sampled_from(PLACES).map(told), VALUES)


@settings(max_examples=150, deadline=None)
@given(st.lists(WISHES, min_size=1, max_size=2), WISHES)
def test_any_edit_is_kept_or_refused(
    wishes: list[tuple[str, Tree | None]], second: tuple[str, Tree | None]
) -> None:
    """Tests that what is not refused is a valid pack, and its undo gives the same bytes."""
    layer = empty_layer("small_pack")
    for each in (wishes, [second]):
        before = layer_text(layer.file)
        try:
            more = change(layer, SMALL, each)
            source = judged(SMALL, more, errors)
        except (LayerError, LayerFileError):
            continue
        finally:
            assert layer_text(layer.file) == before
        assert errors(source) == ()
        assert source.digest != SMALL.digest
        last = more.changes[-1].id
        assert layer_text(take_back(more, last).file) == before
        recorded = take_back(more, last, advised=True)
        assert applied(SMALL, recorded).digest == applied(SMALL, layer).digest
        assert applied(SMALL, recorded).document.tree == applied(SMALL, layer).document.tree
        layer = more
    for name in [each.id for each in reversed(layer.changes)]:
        layer = take_back(layer, name, advised=True)
    assert applied(SMALL, layer) is SMALL


def test_many_good_edits_are_kept() -> None:
    """Tests that the property above is not met by refusing everything."""
    tried, good = PLACES[::12], 0
    for place in tried:
        for value in ("0.5", "70", "yes"):
            with suppress(LayerError, LayerFileError):
                judged(SMALL, own_layer(SMALL, (told(place), value)), errors)
                good += 1
                break
    assert good > len(tried) / 4


def test_what_is_said_is_kept(small_pack: PackSource) -> None:
    """Tests that a change notes who, when, why, and what was said before."""
    layer = change(own_layer(small_pack, (AGEING, "2")), small_pack, [(AGEING, "3")])
    first, second = layer.changes
    assert (first.id, first.who, first.why, first.when) == ("1", "Ada", BY.why, BY.when)
    assert (first.edits[0].was, first.edits[0].now) == ("1.5", "2")
    assert (second.edits[0].was, second.edits[0].now) == ("2", "3")


@pytest.mark.parametrize(
    ("place", "value", "what"),
    [
        (AGEING, "1.50", "says so already"),
        ("causes", {}, "whole section"),
        ("causes / pump-faild / weight", "3", "did you mean 'pump-failed'"),
        ("causes / pump-failed / weight / low", "3", "nothing below it"),
        ("causes / pump-failed / moves / drain_lift", {"plus": "1 m"}, "has no 'causes"),
        ("causes / nowhere", None, "says so already"),
        ("family", "dryer", "not to be changed"),
    ],
)
def test_changes_that_cannot_be(
    small_pack: PackSource, place: str, value: Tree | None, what: str
) -> None:
    """Tests that a place that cannot be had is refused in words."""
    with pytest.raises(LayerError, match=what):
        own_layer(small_pack, (place, value))


def test_who_and_why_must_be_given(small_pack: PackSource) -> None:
    """Tests that nobody changes anything without a name and a reason."""
    for by in (Signed("", BY.when, "why"), Signed("Ada", BY.when, "")):
        with pytest.raises(LayerFileError, match="is empty"):
            change(empty_layer("small_pack"), small_pack, [(AGEING, "2")], by)


def test_undo_goes_from_the_top(small_pack: PackSource) -> None:
    """Tests that what another change stands on stays until that is taken back."""
    layer = change(own_layer(small_pack, (AGEING, "2")), small_pack, [(AGEING, "3")])
    with pytest.raises(LayerError, match="change 2 stands on change 1"):
        take_back(layer, "1")
    layer = take_back(layer, "2", advised=True)
    layer = take_back(layer, "1")
    assert [each.taken_back is not None for each in layer.changes] == [True, True]
    with pytest.raises(LayerError, match="already, by Ada"):
        take_back(layer, "1")
    with pytest.raises(LayerError, match="no change '9'"):
        take_back(layer, "9")


def test_undo_in_the_middle_is_recorded(small_pack: PackSource) -> None:
    """Tests that a change below others is not lost from the list."""
    layer = change(own_layer(small_pack, (AGEING, "2")), small_pack, [("costs / visit", "50")])
    layer = take_back(layer, "1")
    assert [each.id for each in layer.changes] == ["1", "2"]
    own = applied(small_pack, layer).pack
    assert (own.causes["pump-failed"].ageing, own.costs.visit) == (1.5, 50.0)


def test_the_wrong_change_is_named(small_pack: PackSource) -> None:
    """Tests that trouble told at a line of the pack names the change it began with."""
    layer = own_layer(small_pack, ("costs / visit", "50"))
    layer = change(layer, small_pack, [("causes / pump-failed / reported_as / wont_drain", "0.8")])
    layer = change(layer, small_pack, [("costs / visit", "51")])
    with pytest.raises(LayerFileError) as wrong:
        judged(small_pack, layer, errors)
    first, second = wrong.value.problems
    assert first.file == "layers/small_pack.yaml"
    assert "change 2 by Ada (causes / pump-failed / reported_as / wont_drain)" in first.what
    assert "sums to 0.9" in second.what
    assert second.file.endswith("drain.yaml")


def test_side_by_side(small_pack: PackSource) -> None:
    """Tests that both values of each place are told once, with the changes behind it."""
    layer = change(own_layer(small_pack, (AGEING, "2")), small_pack, [(AGEING, "3")])
    layer = change(layer, small_pack, [("parts / own-clip", {"title": "clip"})])
    layer = change(layer, small_pack, [("parts / own-clip / title", "a clip")])
    rows = side_by_side(small_pack, layer)
    assert [(told(row.target), *row.texts) for row in rows] == [
        (AGEING, "1.5", "3"),
        ("parts / own-clip", "-", "{title: a clip}"),
        ("parts / own-clip / title", "-", "a clip"),
    ]
    assert [each.id for each in rows[0].changes] == ["1", "2"]
    assert not any(row.agrees or row.conflict for row in rows)


def shipped_with(edit: tuple[str, Tree | None]) -> PackSource:
    """The small pack as a later version ships it."""
    return applied(SMALL, own_layer(SMALL, edit))


def test_an_update_under_a_change(small_pack: PackSource) -> None:
    """Tests that the shop's value stays, and the three values are told until it is settled."""
    layer = own_layer(small_pack, (AGEING, "2"))
    assert conflicts(small_pack, layer) == []
    update = shipped_with((AGEING, "1.8"))
    (one,) = conflicts(update, layer)
    assert (one.kind, one.was, one.ships, one.own) == ("differs", "1.5", "1.8", "2")
    assert "it said 1.5 when Ada changed it on 2026-03-01" in str(one)
    assert "the pack says 1.8 now, you say 2" in str(one)
    assert one.line == 1 + layer_text(layer.file).splitlines().index(f"      - what: {AGEING}")
    assert applied(update, layer).pack.causes["pump-failed"].ageing == 2.0
    assert side_by_side(update, layer)[0].conflict == one
    settled = kept(layer, update, "1", BY)
    assert conflicts(update, settled) == []
    assert len(conflicts(shipped_with((AGEING, "1.9")), settled)) == 1
    with pytest.raises(LayerError, match="no conflict"):
        kept(settled, update, "1", BY)


def test_an_update_that_agrees(small_pack: PackSource) -> None:
    """Tests that a pack that says the same by now is no conflict, and is told so."""
    layer = own_layer(small_pack, (AGEING, "2"))
    update = shipped_with((AGEING, "2.0"))
    assert conflicts(update, layer) == []
    assert side_by_side(update, layer)[0].agrees


def test_an_own_entry_that_is_shipped_later(small_pack: PackSource) -> None:
    """Tests that an id of the shop's that the pack takes up is a conflict, theirs in force."""
    layer = own_layer(small_pack, ("cautions / own", {"harm": "ours", "do": "look"}))
    update = shipped_with(("cautions / own", {"harm": "theirs", "do": "look"}))
    (one,) = conflicts(update, layer)
    assert (one.was, one.ships) == (None, {"harm": "theirs", "do": "look"})
    assert "it said nothing when" in str(one)
    assert applied(update, layer).pack.cautions["own"].harm == "ours"


def test_a_target_that_vanished(small_pack: PackSource) -> None:
    """Tests that a change within an entry the pack has no more waits without effect."""
    base = shipped_with(("cautions / old", {"harm": "x", "do": "y"}))
    layer = own_layer(base, ("cautions / old / harm", "ours"))
    (one,) = conflicts(small_pack, layer)
    assert (one.kind, one.was, one.ships, one.own) == ("gone", "x", None, "ours")
    assert "no effect" in str(one)
    assert applied(small_pack, layer).pack == small_pack.pack
    assert conflicts(small_pack, kept(layer, small_pack, "1", BY)) == []


def test_own_changes_in_a_row_conflict_once(small_pack: PackSource) -> None:
    """Tests that a second change of a place stands on the first, not on the pack."""
    layer = change(own_layer(small_pack, (AGEING, "2")), small_pack, [(AGEING, "3")])
    found = conflicts(shipped_with((AGEING, "1.8")), layer)
    assert [each.change.id for each in found] == ["1"]
