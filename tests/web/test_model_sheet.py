"""The sheet of a model by its forms, without a script, and what is refused or asked about."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from html import unescape
from pathlib import Path

import httpx
import msgspec
import pytest
from starlette.types import ASGIApp

from tubside.pack.home import packs_folder
from tubside.panel.schema import Fit, SheetValue
from tubside.service.data_folder import models_folder, open_data
from tubside.service.library import Library
from tubside.service.model_file import read_model
from tubside.service.shop_models import ShopModels
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding
from unscripted import asked

SHEET = "/models/own-one/sheet"
COIL = {
    "do": "value",
    "name": "valve_coil_resistance",
    "value": "3.6 kΩ",
    "known_from": "sheet",
    "page": "12",
}
PUMP = {"do": "fit", "part": "drain-pump", "article": "ML-7", "known_from": "plate"}


@dataclass(frozen=True)
class Browser:
    """A browser without scripts, straight at the app, and the shop's models."""

    app: ASGIApp
    shop: ShopModels

    def get(self, path: str) -> httpx.Response:
        """Open a page."""
        return asked(self.app, "GET", path)

    def post(self, data: Mapping[str, str], status: int = 200) -> str:
        """Send a form of the sheet and follow where it leads; the page."""
        page = asked(self.app, "POST", SHEET, data)
        assert page.status_code == status, page.text
        return page.text

    @property
    def sheet(self) -> dict[str, SheetValue]:
        """What the sheet says now."""
        return self.shop.read("own-one").sheet

    @property
    def fits(self) -> list[Fit]:
        """What fits now."""
        return self.shop.read("own-one").fits


def clock() -> datetime:
    """A clock that stands still."""
    return datetime(2026, 3, 4, 9, 5, tzinfo=UTC)


@pytest.fixture
def client(tmp_path: Path) -> Iterator[Browser]:
    """A browser at a shop that has one front-loader of its own."""
    store, shop = open_data(tmp_path, clock), ShopModels(models_folder(tmp_path))
    shipped = read_model(packs_folder() / "front_load" / "models" / "brackwater-wren.yaml")
    shop.keep(msgspec.structs.replace(shipped, model="own-one", name="Own One"))
    app = create_app(Guarding(frozenset({"testserver"})), store, Library(shop=shop.folder), clock)
    yield Browser(app, shop)
    store.close()


def test_a_value_told_changed_and_taken_away(client: Browser) -> None:
    """Tests the way of one value, with its source and what the family has beside it."""
    assert "None told: whether a part fits is unknown" in client.get(SHEET).text
    page = client.post(COIL)
    assert "Valve coil: 3.6 kΩ" in page
    assert "from your service sheet, p. 12; the family has 3.8 kΩ" in page
    assert client.sheet == {
        "valve_coil_resistance": SheetValue(value="3.6 kΩ", known_from="sheet", page="12")
    }
    form = client.get(f"{SHEET}?edit=valve_coil_resistance").text
    assert 'value="3.6 kΩ"' in form
    assert "Keep the change" in form
    client.post({**COIL, "value": "4k1", "was": "valve_coil_resistance", "tolerance": "5 %"})
    assert client.sheet["valve_coil_resistance"].value == "4.1 kΩ"
    assert client.sheet["valve_coil_resistance"].tolerance == "5 %"
    client.post({"do": "forget:valve_coil_resistance"})
    assert client.sheet == {}


def test_an_odd_value_is_asked_about_once(client: Browser) -> None:
    """Tests the question, that nothing is kept by it, and that a second word keeps it."""
    page = client.post({**COIL, "value": "12 kΩ"})
    assert "12 kΩ valve coil: do you mean 1.2 kΩ?" in page
    assert client.sheet == {}
    client.post({**COIL, "value": "12 kΩ", "sure": "yes"})
    assert client.sheet["valve_coil_resistance"].value == "12 kΩ"
    client.post({**COIL, "value": "1.2 kΩ", "sure": "yes"})
    assert client.sheet["valve_coil_resistance"].value == "1.2 kΩ"


def test_a_value_moved_to_another_name(client: Browser) -> None:
    """Tests that picking another name while changing one leaves nothing behind."""
    client.post(COIL)
    moved = {**COIL, "was": COIL["name"], "name": "pump_coil_resistance", "value": "150 Ω"}
    client.post(moved)
    assert list(client.sheet) == ["pump_coil_resistance"]


def test_the_sheet_takes_the_place_of_the_file_s_own_number(client: Browser) -> None:
    """Tests that a spin speed of the model's file gives way to the type plate's."""
    client.post({**COIL, "name": "spin_speed", "value": "1300", "known_from": "plate"})
    assert client.shop.read("own-one").machine == {}
    assert client.sheet["spin_speed"].value == "1300 rpm"


REFUSED: tuple[tuple[Mapping[str, str], str], ...] = (
    ({**COIL, "value": ""}, "write the value with its unit"),
    ({**COIL, "value": "12 V"}, "is a voltage"),
    ({**COIL, "value": "380 kΩ"}, "cannot be"),
    ({**COIL, "name": "engine"}, "pick from the list"),
    ({**COIL, "known_from": "dream"}, "where you have it from"),
    ({**COIL, "tolerance": "lots"}, "not understood"),
    ({**COIL, "name": "rated_load", "value": "7 kg"}, "in 'plate'"),
    ({**PUMP, "part": "engine"}, "no part kind"),
    ({**PUMP, "article": ""}, "write the article"),
    ({**PUMP, "serial_from": "A9", "serial_to": "A1"}, "runs backwards"),
    ({**PUMP, "superseded_by": "ML-7"}, "in a circle"),
    ({"do": "forget:spin_time"}, "says no such thing"),
    ({"do": "forget-fit:0"}, "no such fit"),
    ({**PUMP, "place": "7"}, "no such fit"),
    ({}, "press one of the buttons"),
)


def test_refused_and_nothing_changed(client: Browser) -> None:
    """Tests that a wrong form says how to mend it and leaves the file as it was."""
    file = client.shop.folder / "own-one.yaml"
    before = file.read_bytes()
    for form, words in REFUSED:
        lost = "no such" in words
        assert words in unescape(client.post(form, 404 if lost else 422)).casefold(), form
        assert file.read_bytes() == before


def test_fits_told_changed_and_taken_away(client: Browser) -> None:
    """Tests the way of a fit."""
    page = client.post({**PUMP, "serial_from": "A 100", "superseded_by": "ML-8"})
    assert "serial numbers from A 100; superseded by <b>ML-8</b>" in page
    form = client.get(f"{SHEET}?fit=0").text
    assert 'value="A 100"' in form
    client.post({**PUMP, "place": "0", "serial_to": "A 99"})
    assert [(it.article, it.serial_from, it.serial_to) for it in client.fits] == [
        ("ML-7", None, "A 99")
    ]
    client.post({"do": "forget-fit:0"})
    assert client.fits == []


def test_a_shipped_model_is_only_read(client: Browser) -> None:
    """Tests that a shipped model's sheet has no forms, and that a form sent is refused."""
    page = client.get("/models/brackwater-wren/sheet")
    assert page.status_code == 200
    assert "<form" not in page.text
    assert client.get("/models/no-such/sheet").status_code in {404, 422}


def test_the_model_leads_to_its_sheet(client: Browser) -> None:
    """Tests that the sheet is found from the model's page."""
    assert f'href="{SHEET}"' in client.get("/models/own-one").text
