"""The terminal picture is drawn the same every time, and takes nothing from elsewhere."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path
from types import ModuleType
from xml.etree import ElementTree as ET

import pytest

from tubside.pack.home import packs_folder
from tubside.pack.reading import contents, digest_of

ROOT = Path(__file__).parents[1]
SCRIPT = ROOT / "docs" / "make_pictures.py"


@pytest.fixture(scope="module")
def drawing() -> ModuleType:
    """Return the script that draws the pictures."""
    spec = importlib.util.spec_from_file_location("make_pictures", SCRIPT)
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_a_picture_is_the_same_every_time(drawing: ModuleType) -> None:
    """Tests that two drawings of one job file agree to the letter, as valid XML."""
    job = ROOT / "docs" / "examples" / "danger.yaml"
    first = drawing.picture(job)
    assert first == drawing.picture(job)
    assert ET.fromstring(first).tag == "{http://www.w3.org/2000/svg}svg"  # noqa: S314  # our own


@pytest.mark.parametrize("path", sorted((ROOT / "docs" / "pictures").glob("*.svg")), ids=str)
def test_a_picture_takes_nothing_from_elsewhere(path: Path) -> None:
    """Tests that no font, script or picture is fetched."""
    text = path.read_text(encoding="utf-8")
    assert re.findall(r"https?://(?!www\.w3\.org/)", text) == []
    assert re.findall(r"@font-face|url\((?!#)|<script|<image", text) == []


def test_a_terminal_picture_is_no_window(drawing: ModuleType) -> None:
    """Tests that the lamps of a window are gone, and the next step is there."""
    for name in drawing.PICTURES:
        text = (ROOT / "docs" / "pictures" / f"{name}.svg").read_text(encoding="utf-8")
        assert "<circle" not in text
        assert "Next" in text


def test_every_picture_is_there(drawing: ModuleType) -> None:
    """Tests that each picture of the script is drawn and its job file exists."""
    for name, job in drawing.PICTURES.items():
        assert (ROOT / "docs" / "pictures" / f"{name}.svg").is_file()
        assert (ROOT / "docs" / "examples" / f"{job}.yaml").is_file()


def test_the_drawn_cycle_tells_what_is_told_today(drawing: ModuleType) -> None:
    """Tests title and ending of the kept picture; its curves move with the packs' numbers."""
    kept = (ROOT / "docs" / "pictures" / "cycle.svg").read_text(encoding="utf-8")
    told = re.search("<title>[^<]*</title>", drawing.cycle())
    assert told
    assert told[0] in kept


def test_the_page_shows_the_files_it_names() -> None:
    """Tests that the job written down on the page is the file that its outputs come from."""
    page = (ROOT / "docs" / "a-job-by-example.md").read_text(encoding="utf-8")
    blocks = re.findall(r"^```yaml\n(.*?)^```", page, re.MULTILINE | re.DOTALL)
    call, answers, done = blocks
    told = {p.stem: p.read_text(encoding="utf-8") for p in (ROOT / "docs/examples").glob("*.yaml")}
    assert told["call"] == call
    assert told["visit"] == f"{call.replace('where: phone', 'where: site')}\n{answers}"
    assert told["mended"] == told["visit"] + done


@pytest.mark.parametrize("page", ["a-job-by-example"])
def test_the_outputs_are_those_of_today(drawing: ModuleType, page: str) -> None:
    """Tests that the page shows what is printed, unless the packs have changed since."""
    text = (ROOT / "docs" / f"{page}.md").read_text(encoding="utf-8")
    shown = re.findall(r"^By the numbers of pack (\w+), (\w+)\.$", text, re.MULTILINE)
    assert len(shown) == len(drawing.OUTPUT.findall(text)) == 3
    for family, digest in set(shown):
        if not digest_of(contents(packs_folder() / family)).startswith(digest):
            pytest.skip(f"pack {family} has changed since the outputs were printed: make pictures")
    assert drawing.filled(text) == text
