"""The shop's own changes on the command line: made, shown, undone, given and taken."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tubside.cli import main
from tubside.cli.lazy import EXIT_MISTAKE
from tubside.panel.archive import Unpacked
from tubside.service.knowledge import models
from tubside.service.shop_models import ShopModels

WEIGHT = "causes / pump-failed / weight"


@pytest.fixture
def packs(tmp_path: Path, small_pack_folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of packs with the small one in it; the shop's data folder is that of the test."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "kept"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))
    shutil.copytree(small_pack_folder, tmp_path / "packs" / "small_pack")
    return tmp_path / "packs"


def run(*given: str | Path) -> Result:
    """Run the command."""
    return CliRunner().invoke(main, [str(each) for each in given])


def change(packs: Path, *given: str | Path) -> Result:
    """Change the small pack."""
    who = ("--who", "Ada", "--why", "seen", "--packs", packs)
    return run("pack", "change", "small-pack", *given, *who)


def test_a_change_from_end_to_end(packs: Path, tmp_path: Path) -> None:
    """Tests that a change is told, shown beside the shipped value, used, and undone."""
    done = change(packs, WEIGHT, "150")
    assert (done.exit_code, done.output) == (0, f"change 1 on small_pack is kept: {WEIGHT}\n")
    shown = run("pack", "layer", "small_pack", "--packs", packs).output
    assert f"{WEIGHT}\n  shipped 120   own 150\n  change 1, Ada, " in shown
    assert "other weights are multiplied by 0.9659" in shown
    assert run("pack", "layer", "--packs", packs).output == "small_pack\n"
    own = run("pack", "check", packs / "small_pack", "--shop")
    assert "   150.00 ->  150.00  pump-failed" in own.output
    assert "   120.00 ->  120.00  pump-failed" in run("pack", "check", packs / "small_pack").output
    undone = run("pack", "undo", "small_pack", "1", "--why", "mistyped", "--packs", packs)
    assert undone.output == "change 1 on small_pack is gone\n"
    assert list((tmp_path / "home" / "tubside" / "layers").iterdir()) == []
    assert "nothing is changed" in run("pack", "layer", "small_pack", "--packs", packs).output
    assert "no layer in" in run("pack", "layer", "--packs", packs).output


def test_next_uses_the_layer_when_told(packs: Path, tmp_path: Path) -> None:
    """Tests that advice is computed with the shop's changes only with --shop or --data."""
    job = tmp_path / "job.yaml"
    job.write_text("family: small_pack\nreported: [wont_drain]\n", encoding="utf-8")
    change(packs, WEIGHT, "400", "--data", tmp_path / "data")

    def advised(*more: str | Path) -> tuple[str, float]:
        told = json.loads(
            run("next", job, "--json", "--effort", "0", "--packs", packs, *more).stdout
        )
        chances = {cause["id"]: cause["probability"] for cause in told["causes"]}
        return told["content_hash"], chances["pump-failed"]

    shipped, own = advised(), advised("--data", tmp_path / "data")
    assert advised("--shop") == shipped
    assert own[0] != shipped[0]
    assert own[1] > shipped[1] + 0.1
    (tmp_path / "data" / "layers" / "small_pack.yaml").write_text("{", encoding="utf-8")
    broken = run("next", job, "--effort", "0", "--packs", packs, "--data", tmp_path / "data")
    assert "cannot be used, so the shipped pack is" in broken.stderr
    assert "layers/small_pack.yaml:" in broken.stderr


def test_what_cannot_be_is_told(packs: Path, tmp_path: Path) -> None:
    """Tests that each mistake ends with 2 and a word, and nothing is written."""
    for given, what in (
        ((WEIGHT, "-1"), "no such option"),
        ((WEIGHT, "2000"), "change 1 by ada"),
        ((WEIGHT,), "each place needs a value"),
        ((), "name a place"),
        (("causes / pump-faild / weight", "3"), "did you mean 'pump-failed'"),
        (("causes / pump-failed / reported_as", "{wont_drain: 1"), "the value:1"),
        (("--remove", "causes / pump-failed"), "came with the pack"),
    ):
        done = change(packs, *given)
        assert (done.exit_code, what in done.output.lower()) == (
            EXIT_MISTAKE,
            True,
        ), done.output
    assert not (tmp_path / "home").exists()


def test_changes_from_a_file(packs: Path, tmp_path: Path) -> None:
    """Tests that a file written like a pack changes fields and adds entries, at once."""
    file = tmp_path / "mine.yaml"
    file.write_text(
        "causes:\n  pump-failed: {weight: 150, title: drain pump failed}\n"
        "costs: {visit: 60}\n"
        "parts:\n"
        "  own-clip: {title: clip, price_low: 1, price_high: 2, carried: yes, source: cp}\n",
        encoding="utf-8",
    )
    tried = change(packs, "--from", file, "--try")
    assert "warning: layers/small_pack.yaml:" in tried.output
    assert "nothing names the part 'own-clip'" in tried.output
    assert tried.output.endswith("nothing was changed\n")
    done = change(packs, "--from", file)
    assert done.output.endswith(f"kept: {WEIGHT}, costs / visit, parts / own-clip\n")
    again = change(packs, "--from", file)
    assert (again.exit_code, "changes nothing" in again.output) == (EXIT_MISTAKE, True)


def test_out_and_in_again(packs: Path, tmp_path: Path) -> None:
    """Tests that the file given out is taken in by another shop, once, or in place."""
    change(packs, WEIGHT, "150")
    file = tmp_path / "out.yaml"
    run("pack", "export", "small_pack", "--out", file, "--packs", packs)
    assert file.read_text("utf-8") == run("pack", "export", "small_pack", "--packs", packs).stdout
    other = ("--data", tmp_path / "other", "--packs", packs)
    assert run("pack", "import", file, *other).output == "taken in: 1 change on small_pack\n"
    refused = run("pack", "import", file, *other)
    assert (refused.exit_code, "already" in refused.output) == (EXIT_MISTAKE, True)
    assert run("pack", "import", file, "--replace", *other).exit_code == 0
    assert run("pack", "export", "small_pack", *other).stdout == file.read_text("utf-8")
    assert run("pack", "export", "small_pack", "--out", file).exit_code != 0


def test_a_conflict_is_told_and_settled(packs: Path) -> None:
    """Tests that a newer pack is told beside the shop's value until that is kept."""
    change(packs, "causes / pump-failed / ageing", "2")
    file = packs / "small_pack" / "drain.yaml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("ageing: 1.5", "ageing: 1.8"), encoding="utf-8")
    shown = run("pack", "layer", "small_pack", "--packs", packs).output
    assert shown.startswith("CONFLICT  change 1: causes / pump-failed / ageing: it said 1.5")
    assert "the pack says 1.8 now, you say 2" in shown
    checked = run("pack", "check", packs / "small_pack", "--shop").output
    assert "conflict: causes / pump-failed / ageing" in checked
    run("pack", "keep", "small_pack", "1", "--why", "looked again", "--packs", packs)
    assert "CONFLICT" not in run("pack", "layer", "small_pack", "--packs", packs).output


def test_own_models_are_known(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that simulate finds a model the shop taught, and only when told to look."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    shop = ShopModels(tmp_path / "tubside" / "models")
    text = models()["aldermoor-tern"].read_text(encoding="utf-8")
    text = text.replace("model: aldermoor-tern", "model: own-one")
    shop.taken_in(Unpacked(text.replace("name: Aldermoor Tern", "name: Own One")), None)
    assert run("simulate", "--model", "own").exit_code == EXIT_MISTAKE
    own = run("simulate", "--model", "own", "--shop")
    assert (own.exit_code, own.output) == (0, run("simulate", "--model", "tern").output)


@pytest.mark.parametrize("what", ["undo", "keep"])
def test_a_way_back_needs_a_reason(packs: Path, what: str) -> None:
    """Tests that taking a change back, or keeping it, is refused without a reason."""
    change(packs, WEIGHT, "150")
    bare = run("pack", what, "small_pack", "1", "--packs", packs)
    assert (bare.exit_code, "--why" in bare.output) == (2, True)
    assert "own 150" in run("pack", "layer", "small_pack", "--packs", packs).output
