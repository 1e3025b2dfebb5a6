"""What a shop adds to a pack is used: in a call on the pages, and by a model of its own."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import httpx
import msgspec
import pytest
from starlette.types import ASGIApp

from tubside.errors import PanelError
from tubside.pack.home import packs_folder
from tubside.pack.layer.editing import Signed
from tubside.pack.new_family import begin_family
from tubside.panel.schema import Fit, Indication, Panel
from tubside.service.data_folder import open_data
from tubside.service.library import Library
from tubside.service.model_file import checked_panel
from tubside.service.pack_entry import edits_of_new
from tubside.service.shop_layer import ShopLayers
from tubside.service.shop_models import ShopModels
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding
from unscripted import asked

NOW = datetime(2026, 3, 4, 9, 5, tzinfo=UTC)
BY = Signed("Ada", NOW, "met four times")
OWN_CONDITION = {
    "title": "Sings at a high pitch",
    "kind": "symptom",
    "stages": "[run]",
    "rank": "30",
    "leak": "0.002",
}
OWN_CAUSE = {
    "title": "Idler bearing dry",
    "kind": "component",
    "weight": "60",
    "cleared_by": "[technician]",
    "confirm_minutes": "4",
    "reported_as": "{sings: 0.9, runs_badly: 0.08, will_not_start: 0.01, burning_smell: 0.01}",
    "shows": "0.9",
    "ageing": "2.5",
}
OWN_PART = {"title": "Idler bearing", "price_low": "8", "price_high": "20", "carried": "true"}


def clock() -> datetime:
    """A clock that stands still."""
    return NOW


@dataclass(frozen=True)
class Shop:
    """A shop with one small family, and a browser without scripts at it."""

    app: ASGIApp
    library: Library
    layers: ShopLayers
    models: ShopModels

    def ask(self, path: str, data: Mapping[str, str] | None = None) -> httpx.Response:
        """Open a page, or send a form, and follow where it leads."""
        return asked(self.app, "GET" if data is None else "POST", path, data)

    def undo_all(self) -> None:
        """Take back every change of the shop's."""
        for change in reversed(self.layers.read("small").changes):
            self.layers.undo("small", change.id, BY, advised=False)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """A shop that has added a condition with its cause, and a part kind."""
    begin_family("small", tmp_path / "packs")
    layers = ShopLayers(tmp_path / "layers", tmp_path / "packs")
    source = layers.source("small")
    edits = edits_of_new(source, "conditions", "sings", OWN_CONDITION, {})
    beside = {"remedies / fit-motor / clears": "{technician: 0.9}"}
    more = edits_of_new(source, "causes", "idler-dry", OWN_CAUSE, beside)
    layers.change("small", [*edits, *(one for one in more if one not in edits)], BY)
    part = edits_of_new(layers.source("small"), "parts", "idler", OWN_PART, {})
    layers.change("small", part, BY)
    library = Library(tmp_path / "packs", tmp_path / "models", tmp_path / "layers")
    store = open_data(tmp_path / "data", clock)
    app = create_app(Guarding(frozenset({"testserver"})), store, library, clock)
    models = ShopModels(tmp_path / "models", tmp_path / "packs", tmp_path / "layers")
    yield Shop(app, library, layers, models)
    store.close()


@pytest.fixture
def singing() -> Panel:
    """A model of the small family that shows the shop's own condition and takes its own part."""
    path = packs_folder() / "front_load" / "models" / "brackwater-wren.yaml"
    shipped = checked_panel(path.read_text(encoding="utf-8"), path.name)
    name = next(iter(shipped.indications))
    shows: Indication = msgspec.structs.replace(shipped.indications[name], conditions=["sings"])
    return msgspec.structs.replace(
        shipped,
        model="own-model",
        name="Own Model",
        family="small",
        machine={},
        controller={},
        plate=msgspec.structs.replace(shipped.plate, load_kg=None, variants={}),
        indications={name: shows},
        fits=[Fit(part="idler", article="A-1", known_from="seen")],
    )


def test_an_own_condition_and_cause_work_in_a_call(shop: Shop) -> None:
    """Tests that people can tell it, and that its cause then leads what may be wrong."""
    job = str(shop.ask("/call", {"danger": "none"}).url.path).removesuffix("/machine")
    shop.ask(f"{job}/machine", {"machine": "family:small"})
    page = shop.ask(f"{job}/trouble")
    assert "Sings at a high pitch" in page.text
    told = {"words": "", "condition": "sings", "how_often": "every-time"}
    page = shop.ask(f"{job}/trouble", told)
    assert page.status_code == 200
    assert "Idler bearing dry" in shop.ask(job).text


def test_a_model_may_name_what_the_shop_added(shop: Shop, singing: Panel) -> None:
    """Tests that it is kept, listed and used with the condition and the part of the layer."""
    shop.models.keep(singing)
    assert shop.models.problems() == {}
    assert "own-model" in shop.library.models()
    known = shop.library.model("own-model")
    assert known.panel == singing
    assert "sings" in known.model.names.conditions
    with pytest.raises(PanelError, match="sings"):
        ShopModels(shop.models.folder, shop.models.packs).read("own-model")


def test_a_model_whose_names_were_taken_back_is_told_and_not_used(
    shop: Shop, singing: Panel
) -> None:
    """Tests that no page fails, and that the model is there again with the change."""
    shop.models.keep(singing)
    job = str(shop.ask("/call", {"danger": "none"}).url.path).removesuffix("/machine")
    shop.ask(f"{job}/machine", {"machine": "model:own-model"})
    kept = shop.layers.exported("small")
    shop.undo_all()
    assert "sings" in shop.models.problems()["own-model"]
    assert "idler" in shop.models.problems()["own-model"]
    assert shop.library.models() == []
    assert "sings" in shop.ask("/models").text
    for path in ("/jobs", job, f"{job}/machine", "/packs/small", "/models/own-model"):
        page = shop.ask(path)
        assert page.status_code < 500, path
    shop.layers.taken_in(kept)
    assert shop.library.models() == ["own-model"]
