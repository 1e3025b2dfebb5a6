"""``tubside panel``: pictures written to files, and what is refused."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from PIL import Image

from tubside.cli import main
from tubside.panel.sketch import Sketch, SketchIndication, SketchLamp, panel_of
from tubside.service.shop_folder import models_folder
from tubside.service.shop_models import ShopModels


def run(*words: str) -> Result:
    """Run the command line."""
    return CliRunner().invoke(main, ["panel", *words])


def test_the_kind_follows_the_option_or_the_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests a GIF by its name, an SVG by option under a name of its own, both told in words."""
    gif = tmp_path / "it.gif"
    made = run("show", "wren", "no_water", "--out", str(gif), "--width", "160")
    assert made.exit_code == 0, made.output
    assert gif.read_bytes().startswith(b"GIF89a")
    assert "true rate 0.9091 Hz" in made.output
    monkeypatch.chdir(tmp_path)
    made = run("show", "wren", "three-six", "--svg")
    assert made.exit_code == 0, made.output
    assert "<animate" in Path("brackwater-wren-three-six.svg").read_text("utf-8")


def test_all_at_once(tmp_path: Path) -> None:
    """Tests that an overview of a model is a page to print."""
    made = run("show", "dunmere-teal", "--all", "--pdf", "--out", str(tmp_path / "all.pdf"))
    assert made.exit_code == 0, made.output
    assert (tmp_path / "all.pdf").read_bytes().startswith(b"%PDF")


def test_without_a_kind_it_lists() -> None:
    """Tests that the names to choose from are told, with looks and meaning."""
    made = run("show", "cindle-lark")
    assert made.exit_code == 0
    assert "a-held-c-five" in made.output
    assert "a steady, c 5 blinks" in made.output
    assert "--gif" in made.output


def test_a_shops_own_model_on_its_photo(tmp_path: Path) -> None:
    """Tests that a model of a data folder is drawn, on its photo where that is asked for."""
    lamp = SketchLamp(label="a", x=0.2, y=0.5)
    it = SketchIndication(lamps={"0": "flashing"}, conditions=["no_water"])
    panel = panel_of(Sketch(name="Mine", family="front_load", lamps=(lamp,), indications=(it,)))
    out = BytesIO()
    Image.new("RGB", (792, 264), (20, 160, 60)).save(out, "JPEG")
    ShopModels(models_folder(tmp_path)).keep(panel, out.getvalue())
    words = ("show", "mine", "no_water", "--data", str(tmp_path), "--out", str(tmp_path / "it.svg"))
    for more, there in (((), False), (("--photo",), True)):
        made = run(*words, *more)
        assert made.exit_code == 0, made.output
        assert ("data:image/jpeg" in (tmp_path / "it.svg").read_text("utf-8")) == there


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("show", "wren", "nothing", "--png"), "has no indication 'nothing'; it has"),
        (("show", "wren", "--all", "--gif"), "take svg, png or pdf"),
        (("show", "wren", "one-five", "--out", "x.bmp"), "take one of svg, gif, mp4, png, pdf"),
        (("show", "wren", "one-five", "--png", "--width", "9"), "120 to 1920 pixels wide"),
        (("show", "wren", "one-five", "--png", "--photo"), "leave --photo out"),
        (("show", "nobody", "x", "--png"), "there is no model 'nobody'"),
    ],
)
def test_mistakes_are_told(words: tuple[str, ...], told: str) -> None:
    """Tests that each mistake says what to do, with exit code 2."""
    made = run(*words)
    assert made.exit_code == 2
    assert told in made.output
