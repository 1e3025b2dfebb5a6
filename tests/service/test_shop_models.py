"""The shop's own models: kept, found beside the shipped ones, and refused where they must be."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import msgspec
import pytest
from hypothesis import given, settings

from made_panels import fits, sheets
from tubside.errors import ArchiveError, ModelError, PanelError, UnknownNameError
from tubside.pack.home import packs_folder
from tubside.panel.archive import Unpacked, packed, unpacked
from tubside.panel.schema import Fit, Panel, SheetValue
from tubside.panel.writing import panel_text
from tubside.service.job_file import JobFile
from tubside.service.knowledge import models
from tubside.service.library import Library
from tubside.service.model_file import checked_panel
from tubside.service.shop_models import ShopModels

JPEG = b"\xff\xd8\xff and more"


@cache
def own_panel() -> Panel:
    """A shipped panel under a name of the shop's, with no numbers of its own."""
    path = packs_folder() / "front_load" / "models" / "brackwater-wren.yaml"
    shipped = checked_panel(path.read_text(encoding="utf-8"), path.name)
    plate = msgspec.structs.replace(shipped.plate, load_kg=None)
    return msgspec.structs.replace(
        shipped, model="own-model", name="Own Model", machine={}, plate=plate
    )


@pytest.fixture
def taught() -> Panel:
    """A shipped panel under a name of the shop's."""
    path = packs_folder() / "front_load" / "models" / "brackwater-wren.yaml"
    shipped = checked_panel(path.read_text(encoding="utf-8"), path.name)
    return msgspec.structs.replace(shipped, model="own-model", name="Own Model")


@pytest.fixture
def shop(tmp_path: Path) -> ShopModels:
    """A shop that has taught nothing yet; its folder is not there."""
    return ShopModels(tmp_path / "models")


def test_kept_and_found(shop: ShopModels, taught: Panel) -> None:
    """Tests that a model taught is there for calls beside the shipped ones, after them."""
    library = Library(shop=shop.folder)
    assert library.models() == list(models())
    shop.keep(taught, JPEG)
    assert library.models() == [*models(), "own-model"]
    assert library.model("own-model").panel == taught
    assert library.model("own-model").pack.family == "front_load"
    assert shop.read("own-model") == taught
    assert shop.photo("own-model") == JPEG
    assert sorted(path.name for path in shop.folder.iterdir()) == [
        "own-model.jpg",
        "own-model.yaml",
    ]


def test_changed_content_has_another_hash(shop: ShopModels, taught: Panel) -> None:
    """Tests that the hash of advice follows the file, whoever wrote it, also another process."""
    shop.keep(taught)
    library, job = Library(shop=shop.folder), JobFile(model="own-model")
    before = library.content_hash(job)
    assert library.model("own-model") is library.model("own-model")
    changed = msgspec.structs.replace(taught, about="Otherwise.")
    shop.keep(changed, again=True)
    assert library.content_hash(job) != before
    assert library.model("own-model").panel == changed
    (shop.folder / "own-model.yaml").unlink()
    with pytest.raises(UnknownNameError, match="own-model"):
        library.model("own-model")
    shop.keep(taught)
    assert library.content_hash(job) == before


def test_no_shipped_model_is_replaced(shop: ShopModels, taught: Panel) -> None:
    """Tests that a shipped id is refused, and that a file laid there is not used."""
    same = msgspec.structs.replace(taught, model="brackwater-wren")
    with pytest.raises(ModelError, match="came with the program"):
        shop.keep(same, again=True)
    assert not shop.folder.exists()
    shop.folder.mkdir()
    (shop.folder / "brackwater-wren.yaml").write_text(panel_text(same), encoding="utf-8")
    panel = Library(shop=shop.folder).model("brackwater-wren").panel
    assert panel is not None
    assert panel.name == "Brackwater Wren"
    assert "came with the program" in shop.problems()["brackwater-wren"]


def test_an_id_is_taken_once(shop: ShopModels, taught: Panel) -> None:
    """Tests that another model of the same id is refused, and the same one changed."""
    shop.keep(taught, JPEG)
    other = msgspec.structs.replace(taught, about="Another.")
    with pytest.raises(ModelError, match="already"):
        shop.keep(other)
    assert shop.read("own-model") == taught
    shop.keep(other, again=True)
    assert shop.read("own-model") == other
    assert shop.photo("own-model") is None


def test_a_broken_file_harms_nothing_else(shop: ShopModels, taught: Panel) -> None:
    """Tests that a file with problems is left out and told, and the others stay."""
    shop.keep(taught)
    (shop.folder / "broken.yaml").write_text("model: broken\n", encoding="utf-8")
    (shop.folder / "torn.yaml").write_bytes(b"model: \xff\n")
    assert Library(shop=shop.folder).models() == [*models(), "own-model"]
    assert list(shop.problems()) == ["broken", "torn"]
    assert "broken.yaml" in shop.problems()["broken"]


@pytest.mark.parametrize("name", ["../own", "a/b", "", ".hidden", "a" * 61, "UP", "a\x00"])
def test_no_way_out_of_the_folder(shop: ShopModels, taught: Panel, name: str) -> None:
    """Tests that an id leads to a file of the folder and to nothing else."""
    with pytest.raises(ModelError, match="no model's id"):
        shop.read(name)
    with pytest.raises((ModelError, PanelError)):
        shop.keep(msgspec.structs.replace(taught, model=name))
    assert not shop.folder.exists()


def test_out_and_in_again(shop: ShopModels, taught: Panel, tmp_path: Path) -> None:
    """Tests that another shop takes in what this one gave out, the same to the byte."""
    shop.keep(taught, JPEG)
    archive = unpacked(shop.exported("own-model"))
    other = ShopModels(tmp_path / "other")
    assert other.taken_in(archive, archive.photo) == "own-model"
    assert other.exported("own-model") == shop.exported("own-model")


@settings(max_examples=25, deadline=None)  # a whole file each time
@given(sheets(), fits())
def test_sheet_and_fits_come_along(sheet: dict[str, SheetValue], told_fits: list[Fit]) -> None:
    """Tests that what was told of a model is the same after export and import."""
    told = msgspec.structs.replace(own_panel(), sheet=sheet, fits=told_fits)
    archive = unpacked(packed(told, JPEG))
    again = checked_panel(archive.text, "model.yaml")
    assert again == told
    assert packed(again, archive.photo) == packed(told, JPEG)


HOSTILE = (
    "sheet: {valve_coil_resistance: {value: 1e99 ohm, known_from: sheet}}",
    'sheet: {heater_resistance: {value: "26 ohm; rm", known_from: sheet}}',
    "sheet: {heater_resistance: {value: 26 ohm, known_from: elsewhere}}",
    "sheet: {heater_resistance: {value: 26 ohm}}",
    'sheet: {"../../x": {value: 26 ohm, known_from: sheet}}',
    f"sheet: {{heater_resistance: {{value: 26 ohm, known_from: sheet, note: {'x' * 201}}}}}",
    'sheet: {heater_resistance: {value: 26 ohm, known_from: sheet, page: "a\\ab"}}',
    "fits: [{part: engine, article: P1, known_from: sheet}]",
    f"fits: [{{part: drain-pump, article: {'9' * 41}, known_from: sheet}}]",
    "fits: [{part: drain-pump, article: P1, known_from: sheet, superseded_by: P1}]",
    "fits: ["
    + ", ".join(f"{{part: belt, article: a{n}, known_from: sheet}}" for n in range(201))
    + "]",
)


@pytest.mark.parametrize("lines", HOSTILE)
def test_hostile_sheets_leave_no_trace(shop: ShopModels, taught: Panel, lines: str) -> None:
    """Tests that a file whose sheet or fits cannot be is refused whole, its place told."""
    text = panel_text(msgspec.structs.replace(taught, machine={})) + lines + "\n"
    with pytest.raises(PanelError, match=r"model\.yaml:\d+: "):
        shop.taken_in(Unpacked(text, JPEG), JPEG)
    assert not shop.folder.exists()


@pytest.mark.parametrize("text", ["model: a\n", "", "{", "family: nowhere\n"])
def test_nothing_is_half_taken_in(shop: ShopModels, text: str) -> None:
    """Tests that an archive with a bad file leaves no trace, its photo neither."""
    with pytest.raises((PanelError, ArchiveError)):
        shop.taken_in(Unpacked(text, JPEG), JPEG)
    assert not shop.folder.exists()


def test_an_unknown_family_is_told(taught: Panel) -> None:
    """Tests that a model of a family without a pack names the families there are."""
    strange = panel_text(msgspec.structs.replace(taught, family="mangle"))
    with pytest.raises(PanelError, match=r"model\.yaml:\d+: .*mangle"):
        checked_panel(strange, "model.yaml")
