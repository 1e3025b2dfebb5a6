"""A layer on a pack: what it changes, what it leaves, and how it is taken off again."""

from __future__ import annotations

import pytest

from own_changes import BY, change, own_layer, take_back
from tubside.errors import LayerFileError
from tubside.pack.check import check_pack
from tubside.pack.layer.applying import applied, digest_with
from tubside.pack.layer.editing import Signed, empty_layer
from tubside.pack.layer.reading import parse_layer
from tubside.pack.layer.schema import Change, Edit, LayerFile
from tubside.pack.layer.writing import layer_text
from tubside.pack.reading import PackSource
from tubside.strict_yaml import Tree

OWN_CAUSE: dict[str, Tree] = {
    "title": "own trouble",
    "kind": "site",
    "weight": "40",
    "cleared_by": ["technician"],
    "confirm_minutes": "3",
    "reported_as": {"wont_drain": "1"},
    "shows": "1",
    "ageing": "1",
    "source": "cp",
}


def test_nothing_in_force_is_the_shipped_pack(small_pack: PackSource) -> None:
    """Tests that an empty layer, and one with all taken back, give the very pack and digest."""
    assert applied(small_pack, empty_layer("small_pack")) is small_pack
    layer = own_layer(small_pack, ("causes / pump-failed / weight", "150"))
    gone = take_back(layer, "1", advised=True)
    assert gone.changes
    assert applied(small_pack, gone) is small_pack
    assert digest_with("abc", gone) == "abc"


def test_a_weight_takes_from_the_others(small_pack: PackSource) -> None:
    """Tests that one weight is as said, and the others share what is left in proportion."""
    layer = own_layer(small_pack, ("causes / pump-failed / weight", "150"))
    own = applied(small_pack, layer)
    causes, shipped = own.pack.causes, small_pack.pack.causes
    assert causes["pump-failed"].weight == 150.0
    total = sum(c.weight for c in causes.values()) + sum(
        h.weight for h in own.pack.healthy.values()
    )
    assert total == pytest.approx(1000.0, abs=1e-5)
    ratios = {n: causes[n].weight / shipped[n].weight for n in causes if n != "pump-failed"}
    assert list(ratios.values()) == pytest.approx([850 / 880] * len(ratios), rel=1e-7)
    assert own.pack.healthy["nothing-wrong"].weight == pytest.approx(20 * 850 / 880, rel=1e-7)
    assert check_pack(own).errors == ()


def test_own_entries_are_read_by_the_same_types(small_pack: PackSource) -> None:
    """Tests that an own cause is a cause like any other, last in order, and shares the calls."""
    layer = own_layer(
        small_pack,
        ("causes / own-trouble", OWN_CAUSE),
        ("remedies / straighten-drain-hose / clears / own-trouble", {"technician": "0.9"}),
    )
    own = applied(small_pack, layer).pack
    assert list(own.causes)[-1] == "own-trouble"
    assert own.causes["own-trouble"].weight == 40.0
    assert own.remedies["straighten-drain-hose"].clears["own-trouble"].technician == 0.9
    assert own.causes["pump-object"].weight == pytest.approx(180 * 0.96)


def test_what_fits_no_type_is_told_at_the_line_of_the_layer(small_pack: PackSource) -> None:
    """Tests that a wrong kind and a missing field stand at their lines of the layer's file."""
    partly = {key: value for key, value in OWN_CAUSE.items() if key != "shows"}
    layer = own_layer(small_pack, ("causes / own-trouble", {**partly, "kind": "usre"}))
    with pytest.raises(LayerFileError) as wrong:
        applied(small_pack, layer)
    told = [str(problem) for problem in wrong.value.problems]
    assert len(told) == 2
    assert all(one.startswith("layers/small_pack.yaml:") for one in told)
    line = 1 + layer_text(layer.file).splitlines().index("          kind: usre")
    assert f":{line}: 'causes.own-trouble.kind' cannot be 'usre'; did you mean 'user'?".lower() in (
        "\n".join(told).lower()
    )


@pytest.mark.parametrize(
    ("place", "value"),
    [
        ("causes / pump-object", None),
        ("findings / water-standing / graded", {"yes": "stands", "none": "empty"}),
        ("findings / drain-noise / kinds / silent", None),
        ("variants / drive / values / direct", None),
        ("cautions / plug-out", None),
    ],
)
def test_no_shipped_id_is_lost(small_pack: PackSource, place: str, value: None) -> None:
    """Tests that what jobs of before may name cannot be removed."""
    with pytest.raises(LayerFileError):
        applied(small_pack, own_layer(small_pack, (place, value)))


def test_the_digest_follows_what_is_in_force(small_pack: PackSource) -> None:
    """Tests that value and place count, who and why do not."""
    one = own_layer(small_pack, ("causes / pump-failed / ageing", "2"))
    other = change(
        empty_layer("small_pack"),
        small_pack,
        [("causes / pump-failed / ageing", "2")],
        Signed("Bo", BY.when, "otherwise"),
    )
    third = own_layer(small_pack, ("causes / pump-failed / ageing", "3"))
    digests = [applied(small_pack, layer).digest for layer in (one, other, third)]
    assert digests[0] == digests[1] == digest_with(small_pack.digest, one)
    assert len({small_pack.digest, *digests}) == 3


def test_a_place_that_is_gone_is_left_out(small_pack: PackSource) -> None:
    """Tests that a change within a record the pack has no more does nothing."""
    edit = Edit(what="causes / was-once / title", was="old", now="new")
    file = LayerFile(
        family="small_pack",
        changes=[Change(id="1", when=BY.when, who="Ada", why="seen", edits=[edit])],
    )
    layer = parse_layer(layer_text(file), "f")
    assert applied(small_pack, layer).pack == small_pack.pack
