"""Every customer's step of every pack has a picture of its own kind, drawn and put in words."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import pytest

from tubside.pack.schema import Check, CustomerStep, Remedy
from tubside.service.library import Library
from tubside.service.step_pictures.choosing import (
    GENERIC,
    MACHINES,
    TOUCHED,
    captions,
    drawn,
    picture_of,
)
from tubside.service.step_pictures.strokes import HEIGHT, WIDTH, drawings, elements, parts

CLASSES = {f"d-{one}" for one in "elkcwfxy"}


def customers_steps() -> list[tuple[str, str, CustomerStep]]:
    """Family, id and fields of every step that a pack gives to customers."""
    library = Library()
    found: list[tuple[str, str, CustomerStep]] = []
    for family in library.families():
        pack = library.family(family).pack
        steps: dict[str, Check | Remedy] = {**pack.checks, **pack.remedies}
        for name, step in steps.items():
            if step.customer_step is not None:
                found.append((family, name, step.customer_step))
    return found


def test_every_step_has_a_picture_of_its_own() -> None:
    """Tests that no step of a shipped pack falls back to what it touches, or to a general one."""
    steps = customers_steps()
    assert len(steps) > 300
    listed = {step for one in drawings().values() for step in one.steps}
    bare = [(family, name) for family, name, _ in steps if not {name, f"{family}:{name}"} & listed]
    assert bare == []
    shown = {picture_of(*one).name for one in steps}
    assert not shown & set(GENERIC)
    assert len(shown) > 100


def test_no_picture_is_for_a_step_that_is_gone() -> None:
    """Tests that each id in the files is one of a pack, and that each picture is used."""
    steps = customers_steps()
    names = {name for _, name, _ in steps} | {f"{family}:{name}" for family, name, _ in steps}
    listed = [step for one in drawings().values() for step in one.steps]
    assert set(listed) <= names
    assert len(listed) == len(set(listed))
    assert {name for name, one in drawings().items() if not one.steps} == set(GENERIC)


@pytest.mark.parametrize("family", ["", *MACHINES])
def test_every_picture_is_drawn(family: str) -> None:
    """Tests that every picture is well-formed, in known classes, and small."""
    for name in drawings():
        picture = drawn(name, family)
        root = ET.fromstring(picture.svg)  # noqa: S314  # our own drawing
        assert root.get("viewBox") == f"0 0 {WIDTH} {HEIGHT}"
        used = {one.get("class") for one in root.iter() if one.tag in {"path", "circle"}}
        assert used, name
        assert used <= CLASSES, name
        assert len(picture.svg) < 4000, name


def test_a_family_has_its_own_machine() -> None:
    """Tests that the machine in a picture is that of the family, and a step may have its own."""
    seen = {drawn("minutes", family).svg for family in ("", *MACHINES)}
    assert len(seen) == 1 + len(MACHINES)
    fields = CustomerStep(
        plug="out", taps="as-is", touches="hose-outside", water="none", litres=0.0
    )
    names = [picture_of(one, "raise-drain-hose", fields).name for one in ("top_load", "dishwasher")]
    assert names == ["hose-height", "high-loop"]


def test_a_shops_own_step_gets_what_it_touches() -> None:
    """Tests the picture of a step that no file knows."""
    for touches, name in TOUCHED.items():
        fields = CustomerStep(
            plug="out",
            taps="as-is",
            touches=touches,  # type: ignore[arg-type]  # a key of the table
            water="none",
            litres=0.0,
        )
        assert picture_of("dryer", "our-own-trick", fields).name == name


def test_words_below_are_sentences() -> None:
    """Tests that each picture says something of its own, as a sentence."""
    words = list(captions())
    assert len(set(words)) == len(words)
    assert all(one[0].isupper() and one.endswith((".", "?")) for one in words)


def test_every_part_is_drawn_and_used() -> None:
    """Tests that each part can be drawn, and stands in some picture or another part."""
    lines = [line for one in drawings().values() for line in one.lines]
    lines += [line for part in parts().values() for line in part]
    used = {line.split()[0][1:] for line in lines if line.startswith("@")} | set(MACHINES.values())
    assert set(parts()) == used - {"machine"} | {"cab"}
    for part in parts().values():
        assert list(elements(part))
