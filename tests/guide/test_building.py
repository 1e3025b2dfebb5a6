"""The guide as files: whole by itself, small, safe, and danger before all."""

from __future__ import annotations

from pathlib import Path

import pytest

from guides import faults, small_library, tags, unsafe
from tubside.errors import GuideError
from tubside.guide.building import POLICY, Front, build, script
from tubside.guide.languages import language_of
from tubside.service.library import Library

FRONT = Front("Mill Lane Laundry Repairs", "01632 960100", "NZ")


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Library:
    """One small family."""
    return small_library(tmp_path_factory.mktemp("packs"))


@pytest.fixture(scope="module")
def guide(library: Library, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A guide of it."""
    folder = tmp_path_factory.mktemp("guide") / "out"
    build(folder, library, FRONT)
    return folder


def test_every_link_leads_somewhere(guide: Path) -> None:
    """Tests that pages need nothing from elsewhere, are small, and that no link is dead."""
    assert len(list(guide.glob("*.html"))) >= 10
    assert faults(guide) == []


def test_steps_are_safe_and_cautions_first(guide: Path, library: Library) -> None:
    """Tests every step of every page by the fields of the pack, and a planted one."""
    pack = library.family("small_pack").pack
    pages = [one.read_text("utf-8") for one in guide.glob("kind-small-pack-*.html")]
    assert [unsafe(pack, page) for page in pages] == [[]] * len(pages)
    steps = [page for page in pages if '<li class="step' in page]
    assert steps
    covered = next(name for name, one in pack.checks.items() if one.behind is not None)
    planted = steps[0] + f'<li class="step" id="x" data-kind="check" data-name="{covered}">'
    assert f"check {covered} is none for customers" in unsafe(pack, planted)


def test_dead_links_would_be_found(guide: Path, tmp_path: Path) -> None:
    """Tests the search itself on a page with a dead link, a strange one and too much to load."""
    page = '<a href="gone.html">a</a><img src="https://example.org/x.png"><img src="big.svg">'
    (tmp_path / "index.html").write_text(page, encoding="utf-8")
    (tmp_path / "big.svg").write_bytes(bytes(200_000))
    assert len(faults(tmp_path)) == 3
    assert faults(guide) == []


def test_every_page_is_shut_off_and_has_a_language(guide: Path) -> None:
    """Tests the policy, the language and its direction on every page."""
    for one in guide.glob("*.html"):
        page = tags(one.read_text("utf-8"))
        assert any(tag.told.get("content") == POLICY for tag in page), one.name
        assert page[0].told == {"lang": "en", "dir": "ltr"}


def test_the_folder_must_be_empty(guide: Path, library: Library) -> None:
    """Tests that nothing is overwritten."""
    with pytest.raises(GuideError, match="not empty"):
        build(guide, library, FRONT)


def test_from_right_to_left_and_longer(library: Library, tmp_path: Path) -> None:
    """Tests that both made-up languages change every heading, and the direction."""
    for tag, direction in (("en-XA", "ltr"), ("ar-XB", "rtl")):
        folder = tmp_path / tag
        build(folder, library, FRONT, language_of(tag))
        assert faults(folder) == []
        text = (folder / "index.html").read_text("utf-8")
        assert tags(text)[0].told == {"lang": tag, "dir": direction}
        assert "Find your machine" not in text
        assert "Is your machine here" not in text
        assert ("\u206601632 960100\u2069" in text) == (direction == "rtl")


def test_the_script_is_no_module() -> None:
    """Tests that the script runs from a folder, where modules do not load."""
    assert "export " not in script()
    assert "import " not in script()


@pytest.mark.soak
def test_the_whole_guide(tmp_path: Path) -> None:
    """Tests the same of all families and models that are shipped."""
    library = Library()
    build(tmp_path / "out", library, FRONT)
    assert faults(tmp_path / "out") == []
    for family in library.families():
        pack = library.family(family).pack
        for one in (tmp_path / "out").glob(f"kind-{family.replace('_', '-')}-*.html"):
            assert unsafe(pack, one.read_text("utf-8")) == [], one.name
    for model in library.models():
        pack = library.model(model).pack
        for one in (tmp_path / "out").glob(f"machine-{model}-*.html"):
            assert unsafe(pack, one.read_text("utf-8")) == [], one.name
