"""Entries of a pack in forms, and the changes that filled forms ask for."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from tubside.errors import LayerError, LayerFileError
from tubside.pack.layer.applying import applied
from tubside.pack.layer.editing import Signed, changed, empty_layer
from tubside.pack.new_family import begin_family
from tubside.pack.reading import PackSource, read_pack
from tubside.service.pack_entry import (
    OWN_MARK,
    OWN_SOURCE,
    SECTIONS,
    blank,
    edit_of_field,
    edits_of_new,
    fields_of,
    search,
)

NEW_CAUSE = {
    "title": "Door switch tired",
    "kind": "component",
    "weight": "20",
    "cleared_by": "[technician]",
    "confirm_minutes": "4",
    "reported_as": "{will_not_start: 0.9, runs_badly: 0.1}",
    "shows": "0.7",
    "ageing": "1.4",
}


@pytest.fixture(scope="module")
def source(tmp_path_factory: pytest.TempPathFactory) -> PackSource:
    """Return a small family as written."""
    return read_pack(begin_family("small", Path(tmp_path_factory.mktemp("packs"))))


@pytest.mark.parametrize("section", SECTIONS)
def test_every_field_of_an_entry_is_shown(source: PackSource, section: str) -> None:
    """Tests that each field has words, and that those that must be there hold something."""
    first = search(source, "", section)[0]
    fields = fields_of(source, section, first.id)
    assert [f.name for f in fields] == [f.name for f in blank(section)]
    assert all(field.words for field in fields)
    assert all(field.text for field in fields if field.required)


def test_search_wants_every_word(source: PackSource) -> None:
    """Tests that words narrow what is found, over ids and titles."""
    assert {it.id for it in search(source, "belt")} >= {"belt-worn", "fit-belt", "feel-the-belt"}
    assert [it.id for it in search(source, "belt new")] == ["fit-belt"]
    assert search(source, "no such thing") == []


@pytest.mark.parametrize("section", SECTIONS)
def test_a_field_typed_as_it_stands_is_the_same(source: PackSource, section: str) -> None:
    """Tests that what a form shows is read back as what stands there: texts, lists, records."""
    for found in search(source, "", section):
        entry = source.document.tree[section][found.id]  # type: ignore[index,call-overload]
        for field in fields_of(source, section, found.id):
            if field.text:
                ((target, value),) = edit_of_field(section, found.id, field.name, field.text)
                assert target == (section, found.id, field.name)
                assert value == entry[field.name]  # type: ignore[index,call-overload]


def test_an_empty_field_is_taken_out_or_refused() -> None:
    """Tests optional fields, those that must be there, and those that are none."""
    assert edit_of_field("causes", "belt-worn", "plain", "") == [
        (("causes", "belt-worn", "plain"), None)
    ]
    with pytest.raises(LayerError, match="must be there"):
        edit_of_field("causes", "belt-worn", "weight", " ")
    with pytest.raises(LayerError, match="no field"):
        edit_of_field("causes", "belt-worn", "colour", "red")
    with pytest.raises(LayerFileError):
        edit_of_field("causes", "belt-worn", "cleared_by", "[technician")


def test_a_new_cause_comes_with_what_clears_and_shows_it(source: PackSource) -> None:
    """Tests that one change adds the cause, its mark, a remedy's chance and a row of a finding."""
    beside = {
        "remedies / fit-motor / clears": "{technician: 0.8}",
        "findings / start-answer / causes": "[0.9, 0.1]",
        "findings / turning / causes": "",
    }
    edits = edits_of_new(source, "causes", "door-switch", NEW_CAUSE, beside)
    assert edits[0] == (("sources", OWN_SOURCE), OWN_MARK)
    assert [target for target, _ in edits[1:]] == [
        ("causes", "door-switch"),
        ("remedies", "fit-motor", "clears", "door-switch"),
        ("findings", "start-answer", "causes", "door-switch"),
    ]
    by = Signed("Edith", datetime(2026, 11, 1, 9, 0, tzinfo=UTC), "seen twice")
    with_it = applied(source, changed(empty_layer("small"), source, edits, by))
    assert with_it.pack.causes["door-switch"].title == "Door switch tired"
    weights = [cause.weight for cause in with_it.pack.causes.values()]
    weights += [healthy.weight for healthy in with_it.pack.healthy.values()]
    assert sum(weights) == pytest.approx(1000.0)


@pytest.mark.parametrize(
    ("name", "told", "match"),
    [
        ("Door Switch", NEW_CAUSE, "no id"),
        ("../x", NEW_CAUSE, "no id"),
        ("belt-worn", NEW_CAUSE, "already"),
        ("door-switch", {**NEW_CAUSE, "weight": ""}, "must be there: weight"),
    ],
)
def test_a_new_entry_that_cannot_be_is_refused(
    source: PackSource, name: str, told: dict[str, str], match: str
) -> None:
    """Tests ids that are none or taken, and fields left out."""
    with pytest.raises(LayerError, match=match):
        edits_of_new(source, "causes", name, told, {})
