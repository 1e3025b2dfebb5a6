"""The file of a layer: read strictly, written in one way, and back to the same."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import LayerError, LayerFileError
from tubside.pack.layer.applying import applied
from tubside.pack.layer.conflicts import conflicts
from tubside.pack.layer.reading import LARGEST, layer_from, parse_layer, read_layer, standing
from tubside.pack.layer.schema import Change, Edit, Kept, LayerFile, TakenBack
from tubside.pack.layer.targets import target_of as place
from tubside.pack.layer.targets import told, value_at, with_value
from tubside.pack.layer.writing import layer_text
from tubside.pack.reading import read_pack
from tubside.strict_yaml import Tree

WHEN = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
WORDS = TEXTS.map(str.strip).filter(bool)
VALUES: st.SearchStrategy[Tree] = st.recursive(
    TEXTS,
    lambda below: st.lists(below, max_size=3) | st.dictionaries(TEXTS, below, max_size=3),
    max_leaves=12,
)
PARTS = st.text("abcz09-_", min_size=1, max_size=8)
EDITS = st.builds(
    Edit,
    what=st.tuples(st.just("causes"), PARTS, PARTS).map(told),
    was=st.none() | VALUES.map(lambda value: {"was": value}),
    now=VALUES.map(lambda value: {"now": value}),
)
MOMENTS = st.datetimes(WHEN.replace(tzinfo=None), timezones=st.just(UTC)).map(
    lambda moment: moment.replace(microsecond=0)
)


def layer_of(*edits: Edit, **given: object) -> LayerFile:
    """A layer of one change with these edits."""
    said: dict[str, object] = {"id": "1", "when": WHEN, "who": "Ada", "why": "seen", **given}
    return LayerFile(
        family="small_pack",
        changes=[Change(edits=list(edits), **said)],  # type: ignore[arg-type]  # as given
    )


@given(EDITS, WORDS, WORDS, MOMENTS, st.none() | VALUES, st.none() | WORDS)
def test_what_is_written_is_read(
    edit: Edit, who: str, why: str, moment: datetime, ships: Tree | None, reason: str | None
) -> None:
    """Tests that any texts, lists and records come back, and are written alike again."""
    layer = layer_of(
        edit,
        who=who,
        why=why,
        kept=[Kept(what=edit.what, who=who, when=moment, why=reason, ships=ships)],
        taken_back=TakenBack(who=who, when=moment, why=reason),
    )
    text = layer_text(layer)
    assert "\t" not in text
    again = parse_layer(text, "layer.yaml")
    assert again.file == layer
    assert layer_text(again.file) == text


def test_a_layer_without_changes() -> None:
    """Tests that no change at all is a file too."""
    empty = LayerFile(family="small_pack", changes=[])
    assert parse_layer(layer_text(empty), "x").file == empty


GOOD = layer_text(layer_of(Edit(what="causes / tap-closed / weight", was="120", now="130")))
WRONG = [
    ("id: 1", "id: One", "no id of a change"),
    ("who: Ada", 'who: " "', "'who' is empty"),
    ("why: seen", f"why: {'x' * 501}", "501 characters"),
    ("09:00:00Z", "09:00:00", "not in UTC"),
    ("09:00:00Z", "09:00:00+02:00", "not in UTC"),
    ("2026-03-01T", "soon", "'changes.0.when' cannot be 'soon"),
    ("causes / tap-closed / weight", "causes / / weight", "no place of a pack"),
    ("causes / tap-closed / weight", "family", "family is not to be changed"),
    ("now: 130", "now: 120.0", "same before and after"),
    ("        was: 120\n        now: 130\n", "", "same before and after"),
    ("now: 130", "now: 130\n        then: 1", "unknown key 'then'"),
    ("family: small_pack", "family: dryer", "for the family 'dryer'"),
    ("now: 130", "now: &a 130", "anchor"),
]


@pytest.mark.parametrize(("old", "new", "what"), WRONG)
def test_what_is_wrong_is_told_with_its_line(old: str, new: str, what: str) -> None:
    """Tests that each mistake is refused with file and line."""
    assert GOOD.count(old) == 1
    with pytest.raises(LayerFileError, match=what) as wrong:
        parse_layer(GOOD.replace(old, new), "layers/small_pack.yaml", "small_pack")
    assert str(wrong.value).startswith("layers/small_pack.yaml:")


def test_all_problems_at_once() -> None:
    """Tests that one reading tells every problem, each at its line."""
    text = GOOD.replace("who: Ada", 'who: ""').replace("weight", "/").replace("id: 1", "id: X")
    with pytest.raises(LayerFileError) as wrong:
        parse_layer(text, "f")
    assert [problem.line for problem in wrong.value.problems] == [5, 7, 10]


def test_one_id_one_place_one_order() -> None:
    """Tests that ids are single, places of a change apart, and nothing is undone before it is."""
    edit = Edit(what="causes / a", now={"title": "x"})
    inside = Edit(what="causes / a / title", now="y")
    earlier = TakenBack(who="Ada", when=WHEN - timedelta(seconds=1))
    astray = Kept(what="causes / b", who="Ada", when=WHEN)
    for layer, what in (
        (LayerFile(family="f", changes=layer_of(edit).changes * 2), "have the id '1'"),
        (layer_of(edit, inside), "twice"),
        (layer_of(edit, taken_back=earlier), "before the change was made"),
        (layer_of(edit, kept=[astray]), "does not change 'causes / b'"),
        (layer_of(), "changes nothing"),
    ):
        with pytest.raises(LayerFileError, match=what):
            parse_layer(layer_text(layer), "f")


def test_what_was_taken_back_stands_no_more() -> None:
    """Tests that only edits of changes in force count."""
    edit = Edit(what="causes / a / title", was="x", now="y")
    assert [e.target for e in standing(parse_layer(layer_text(layer_of(edit)), "f"))] == [
        ("causes", "a", "title")
    ]
    gone = layer_of(edit, taken_back=TakenBack(who="Bo", when=WHEN))
    assert standing(parse_layer(layer_text(gone), "f")) == []


def test_files_that_are_none(tmp_path: Path) -> None:
    """Tests that a missing, a huge and a torn file are told as such."""
    with pytest.raises(LayerFileError, match="cannot be read"):
        read_layer(tmp_path / "layers" / "x.yaml")
    with pytest.raises(LayerFileError, match="more than"):
        layer_from(b"#" * (LARGEST + 1), "f")
    with pytest.raises(LayerFileError, match="UTF-8"):
        layer_from(b"family: \xff", "f")


@pytest.mark.parametrize("text", ["", " / ", "causes /", "a/" * 12 + "a", "x" * 301, "family"])
def test_no_place(text: str) -> None:
    """Tests that what names no place is refused."""
    with pytest.raises(LayerError):
        place(text)


@given(st.dictionaries(PARTS, st.dictionaries(PARTS, TEXTS, max_size=3), max_size=3), VALUES)
def test_only_one_place_changes(tree: dict[str, Tree], value: Tree) -> None:
    """Tests that setting a value changes nothing else, and taking it out again nothing at all."""
    before = repr(tree)
    changed = with_value(tree, ("new",), {})
    changed = with_value(changed, ("new", "entry"), value)
    assert value_at(changed, ("new", "entry")) == value
    assert repr(tree) == before
    if "new" not in tree:
        assert with_value(changed, ("new",), None) == tree


def test_the_example_of_the_page() -> None:
    """Tests that the file in layer.md is as the program writes it, and fits the shipped pack."""
    root = Path(__file__).parents[3]
    page = (root / "docs" / "layer.md").read_text(encoding="utf-8")
    (example,) = re.findall(r"^```yaml\n(.*?)^```", page, re.MULTILINE | re.DOTALL)
    layer = parse_layer(example, "layer.md", "top_load")
    assert layer_text(layer.file) == example
    shipped = read_pack(root / "packs" / "top_load")
    assert conflicts(shipped, layer) == []
    assert applied(shipped, layer).pack.causes["suspension-worn"].weight == 41.0
    table = page.partition("| field | holds |")[2].partition("\n\n")[0]
    kinds = (LayerFile, Change, Edit, Kept, TakenBack)
    assert set(re.findall(r"`(\w+)`", table)) == {
        field for kind in kinds for field in kind.__struct_fields__
    }
