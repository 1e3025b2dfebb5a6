"""Tests of finding the pack and panel of a job, and of listing their ids."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from tubside.errors import UnknownNameError
from tubside.pack.fault_model import FaultModel
from tubside.pack.reading import PackSource
from tubside.service.job_file import parse_job
from tubside.service.knowledge import (
    Knowledge,
    knowledge_of,
    knowledge_of_family,
    knowledge_of_model,
    models,
)
from tubside.service.listing import listing, listing_lines


def test_model_brings_its_family() -> None:
    """Tests that each demo model has its panel and the pack of its folder."""
    for name, path in models().items():
        known = knowledge_of(parse_job(f"model: {name}\n").job)
        assert known.panel is not None
        assert known.pack.family == path.parent.parent.name
        assert known.model.n_causes == len(known.pack.causes)


def test_family_has_no_panel() -> None:
    """Tests that a family is known by its name, with hyphen or underscore."""
    one, other = knowledge_of_family("front-load"), knowledge_of_family("front_load")
    assert one.panel is None
    assert one.pack == other.pack


def test_unknown_names_are_refused_with_the_nearest() -> None:
    """Tests that a family or model that is not there names what is."""
    name = next(iter(models()))
    with pytest.raises(UnknownNameError, match=name):
        knowledge_of_model(name[:-1])
    with pytest.raises(UnknownNameError, match="front"):
        knowledge_of_family("front-lod")


def test_a_model_has_its_own_machine() -> None:
    """Tests that a model's values replace its family's, and leave the family as it is."""
    family, model = knowledge_of_family("front_load"), knowledge_of_model("brackwater-wren")
    assert family.model.machine is not None
    assert model.model.machine is not None
    speed = family.model.machine.parameters.index("spin_speed")
    assert family.model.machine.middle[speed] == pytest.approx(1200 * math.pi / 30)
    assert model.model.machine.middle[speed] == pytest.approx(1400 * math.pi / 30)


def test_another_folder_of_packs(small_pack_copy: Path) -> None:
    """Tests that packs are taken from the folder that is named."""
    known = knowledge_of_family("small_pack", small_pack_copy.parent)
    assert known.pack.title == "Small washer for tests"
    assert models(small_pack_copy.parent) == {}


def test_listing_holds_every_id(small_pack: PackSource, small_model: FaultModel) -> None:
    """Tests that all ids a job file may use are listed, with the outcomes of steps."""
    pack = small_pack.pack
    listed = listing(Knowledge(pack, small_model, None))
    for section in ("conditions", "stages", "variants", "checks", "remedies", "parts", "stops"):
        assert set(listed[section]) == set(getattr(pack, section))
    assert set(listed["causes"]) == {*pack.causes, "nothing-wrong", "cleared-itself"}
    assert listed["checks"]["belt-look"]["outcomes"] == {
        "broken": "broken or off",
        "worn": "glazed or slack",
        "fine": "fine",
        "not sure": "nothing learned",
        "could not look": "nothing learned",
    }
    lines = list(listing_lines(listed))
    for name in (*pack.checks, *pack.remedies, *pack.conditions):
        assert any(line.split()[:1] == [name] for line in lines), name
