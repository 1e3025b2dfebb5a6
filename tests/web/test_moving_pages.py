"""Files of what a model shows, from the model's page: each link gives its file."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

import httpx
import pytest
from PIL import Image

from tubside.panel.schema import Panel
from tubside.panel.sketch import Sketch, SketchIndication, SketchLamp, panel_of
from tubside.service.data_folder import models_folder, open_data
from tubside.service.library import Library
from tubside.service.shop_models import ShopModels
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding

BEGIN = {
    "mp4": b"ftyp",
    "gif": b"GIF89a",
    "svg": b"<svg",
    "png": b"\x89PNG",
    "pdf": b"%PDF",
}


class Looker:
    """A browser that only looks."""

    def __init__(self, folder: Path) -> None:
        """Open a shop with one model of its own, taught from a photo."""
        now = datetime(2026, 3, 4, 9, 5, tzinfo=UTC)
        self.store = open_data(folder, lambda: now)
        library = Library(shop=models_folder(folder))
        out = BytesIO()
        Image.new("RGB", (792, 264), (20, 160, 60)).save(out, "JPEG")
        ShopModels(models_folder(folder)).keep(own_panel(), out.getvalue())
        guarding = Guarding(frozenset({"testserver"}))
        self.app = create_app(guarding, self.store, library, lambda: now)

    def get(self, path: str) -> httpx.Response:
        """Open an address."""

        async def ask() -> httpx.Response:
            transport = httpx.ASGITransport(self.app)
            async with httpx.AsyncClient(transport=transport, base_url="http://testserver") as it:
                return await it.get(path)

        return asyncio.run(ask())


def own_panel() -> Panel:
    """Return a panel as a shop teaches it."""
    lamps = (SketchLamp(label="a", x=0.2, y=0.5), SketchLamp(label="b", x=0.8, y=0.5))
    it = SketchIndication(lamps={"0": "2 blinks"}, conditions=["no_water"])
    return panel_of(
        Sketch(name="Mine", family="front_load", photo=True, lamps=lamps, indications=(it,))
    )


@pytest.fixture
def looker(tmp_path: Path) -> Iterator[Looker]:
    """A browser at a shop with a model of its own."""
    made = Looker(tmp_path)
    yield made
    made.store.close()


def test_each_link_of_a_model_gives_its_file(looker: Looker) -> None:
    """Tests every link of the page of a taught model, on its photo too, and both overviews."""
    page = looker.get("/models/mine").text
    links = re.findall(r'href="(/models/mine/(?:shows/[^"]+|all\.[a-z]+))"', page)
    assert len(links) == 5 + 2 + 2
    for link in links:
        answer = looker.get(link)
        assert answer.status_code == 200, link
        kind = link.partition("?")[0].rpartition(".")[2]
        assert BEGIN[kind] in answer.content[:64]
        said = answer.headers["content-disposition"]
        assert said.startswith("attachment; filename*=UTF-8''mine-")
        assert said.endswith(f".{kind}")
    assert b"data:image/jpeg" not in looker.get(links[2]).content


def test_a_shipped_model_has_files_and_no_photo(looker: Looker) -> None:
    """Tests that each indication has its five links, and an own photo is asked for in vain."""
    page = looker.get("/models/aldermoor-tern").text
    assert page.count("/models/aldermoor-tern/shows/") == 10 * 5
    assert "photo=1" not in page
    refused = looker.get("/models/aldermoor-tern/shows/four.gif?photo=1")
    assert refused.status_code == 422
    assert "no photo" in refused.text


@pytest.mark.parametrize(
    "path", ["shows/none.gif", "shows/four.exe", "all.gif", "all.exe", "shows/four"]
)
def test_what_is_not_there_is_said(looker: Looker, path: str) -> None:
    """Tests that unknown indications and kinds of file are answered as not there."""
    assert looker.get(f"/models/aldermoor-tern/{path}").status_code == 404
