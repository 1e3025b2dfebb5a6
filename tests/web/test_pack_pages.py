"""The pages on which a shop changes what a pack says, without a script."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from html import unescape
from pathlib import Path

import httpx
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.types import ASGIApp

from tubside.pack.new_family import begin_family
from tubside.service.data_folder import open_data
from tubside.service.layered_pack import OwnChanges
from tubside.service.library import Library
from tubside.service.shop_layer import ShopLayers
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding
from unscripted import asked

WEIGHT = "/packs/small/causes/belt-worn/try"
NEW_CAUSE = {
    "id": "door-switch",
    "title": "Door switch tired",
    "kind": "component",
    "weight": "20",
    "cleared_by": "[technician]",
    "confirm_minutes": "4",
    "reported_as": "{will_not_start: 0.8, runs_badly: 0.15, burning_smell: 0.05}",
    "shows": "0.7",
    "ageing": "1.4",
    "why": "met four times",
}


@dataclass(frozen=True)
class Visitor:
    """A browser without scripts at a shop with one small family."""

    app: ASGIApp
    layers: ShopLayers
    library: Library

    def get(self, path: str) -> httpx.Response:
        """Open a page."""
        return asked(self.app, "GET", path)

    def post(
        self,
        path: str,
        data: Mapping[str, str] | None = None,
        files: Mapping[str, tuple[str, bytes]] | None = None,
    ) -> httpx.Response:
        """Send a form and follow where it leads."""
        return asked(self.app, "POST", path, data, files)

    def keep(self, told: httpx.Response) -> httpx.Response:
        """Press the button that keeps a change, with what its form carries."""
        hidden = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', told.text))
        return self.post("/packs/small/keep", {k: unescape(v) for k, v in hidden.items()})


def clock() -> datetime:
    """A clock that stands still."""
    return datetime(2026, 3, 4, 9, 5, tzinfo=UTC)


@pytest.fixture
def visitor(tmp_path: Path) -> Iterator[Visitor]:
    """A visitor of a shop that has changed nothing yet."""
    begin_family("small", tmp_path / "packs")
    store = open_data(tmp_path / "data", clock)
    library = Library(tmp_path / "packs", tmp_path / "models", tmp_path / "layers")
    app = create_app(Guarding(frozenset({"testserver"})), store, library, clock)
    yield Visitor(app, ShopLayers(tmp_path / "layers", tmp_path / "packs"), library)
    store.close()


def test_families_and_entries_are_shown(visitor: Visitor) -> None:
    """Tests the list, the search, and that an entry shows each field with its words."""
    assert "as it came" in visitor.get("/packs").text
    found = visitor.get("/packs/small?q=belt&in=causes").text
    assert "/packs/small/causes/belt-worn" in found
    assert "/packs/small/causes/motor-weak" not in found
    page = visitor.get("/packs/small/causes/belt-worn")
    assert page.status_code == 200
    assert "Per 1000 calls, as the main cause." in page.text
    assert 'value="400"' in page.text


@pytest.mark.parametrize(
    "path",
    ["/packs/none", "/packs/small/colours/new", "/packs/small/causes/none", "/packs/..%2fx"],
)
def test_what_is_not_there_is_told(visitor: Visitor, path: str) -> None:
    """Tests unknown families, sections and entries."""
    assert visitor.get(path).status_code in {400, 404, 422}


def test_a_change_is_told_kept_used_and_taken_back(visitor: Visitor) -> None:
    """Tests the whole way of one weight, and that advice is computed with it."""
    before = visitor.library.family("small").model.digest
    told = visitor.post(WEIGHT, {"field": "weight", "value": "300", "why": "fewer by my book"})
    assert told.status_code == 200
    assert "typical calls" in told.text
    assert visitor.layers.families() == []
    page = visitor.keep(told)
    assert page.url.path == "/packs/small"
    assert "fewer by my book" in page.text
    assert visitor.library.family("small").pack.causes["belt-worn"].weight == 300
    assert visitor.library.family("small").model.digest != before
    assert visitor.library.family("small").own == OwnChanges(1, clock())
    refused = visitor.post("/packs/small/undo", {"change": "1", "why": " "})
    assert refused.status_code == 422
    assert visitor.layers.families() == ["small"]
    visitor.post("/packs/small/undo", {"change": "1", "why": "a quiet month"})
    assert visitor.layers.families() == []
    assert visitor.library.family("small").model.digest == before


def test_what_cannot_be_is_refused_beside_its_field(visitor: Visitor) -> None:
    """Tests that a wrong value comes back with why, and nothing is written."""
    page = visitor.post(WEIGHT, {"field": "weight", "value": "many", "why": "because"})
    assert page.status_code == 422
    assert 'value="many"' in page.text
    assert "This cannot be so" in page.text
    page = visitor.post(WEIGHT, {"field": "shows", "value": "1.5", "why": "because"})
    assert page.status_code == 422
    assert visitor.post(WEIGHT, {"field": "weight", "value": "300", "why": ""}).status_code == 422
    assert visitor.layers.families() == []


def test_a_cause_is_added_with_what_clears_and_shows_it(visitor: Visitor) -> None:
    """Tests the guided form, refused first for want of a remedy, then kept."""
    page = visitor.post("/packs/small/causes/new", {**NEW_CAUSE, "clears": "{technician: 0.9}"})
    assert page.status_code == 422
    assert "met four times" in page.text
    more = {"remedy": "fit-motor", "clears": "{technician: 0.9}"}
    more |= {"finding0": "start-answer", "row0": "[0.85, 0.15]"}
    told = visitor.post("/packs/small/causes/new", {**NEW_CAUSE, **more})
    assert told.status_code == 200, told.text
    visitor.keep(told)
    known = visitor.library.family("small")
    assert "door-switch" in known.model.names.causes
    assert known.pack.findings["start-answer"].causes["door-switch"] == [0.85, 0.15]


def test_changes_are_given_out_and_taken_in_whole_or_not_at_all(visitor: Visitor) -> None:
    """Tests the file, its way back, and that a hostile one changes nothing."""
    told = visitor.post(WEIGHT, {"field": "weight", "value": "300", "why": "fewer"})
    visitor.keep(told)
    file = visitor.get("/packs/small/export").content
    visitor.post("/packs/small/undo", {"change": "1", "why": "given out"})
    page = visitor.post("/packs/import", files={"archive": ("x.yaml", file)})
    assert page.url.path == "/packs/small"
    assert visitor.layers.exported("small") == file
    for bad in (b"", b"\xff\xfe", b"family: small", file.replace(b"300", b"many")):
        again = {"again": "yes"}
        page = visitor.post("/packs/import", again, {"archive": ("x.yaml", bad)})
        assert page.status_code == 422
        assert visitor.layers.exported("small") == file


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(edits=st.text(max_size=60) | st.just('[["causes / belt-worn / weight", null]]'))
def test_a_forged_confirmation_changes_nothing(visitor: Visitor, edits: str) -> None:
    """Tests that what the confirming form carries is tried again before it is kept."""
    page = visitor.post("/packs/small/keep", {"edits": edits, "why": "forged"})
    assert page.status_code == 422
    assert visitor.layers.families() == []


@settings(
    max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    field=st.sampled_from(["weight", "shows", "ageing", "title", "kind", "reported_as", "plain"]),
    value=st.sampled_from(["0", "0.5", "300", "-1", "[", "{}", "nan", "site", "1e9", "", "x\x00"]),
)
def test_every_edit_keeps_the_pack_valid_or_is_refused(
    visitor: Visitor, field: str, value: str
) -> None:
    """Tests that after any form the pack still loads, and a refused one wrote nothing."""
    before = visitor.layers.exported("small")
    told = visitor.post(WEIGHT, {"field": field, "value": value, "why": "tried"})
    if told.status_code == 200:
        visitor.keep(told)
        assert visitor.layers.problems() == {}
    else:
        assert told.status_code in {400, 422}
        assert visitor.layers.exported("small") == before
