"""Teaching a model by its forms, without a script, and what is refused."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import httpx
import pytest
from starlette.types import ASGIApp

from angled import CORNERS, LAMPS, SIZE, photo_at_an_angle
from tubside.panel.schema import Panel
from tubside.panel.sketch import MARGIN, front_size
from tubside.service.data_folder import models_folder, open_data
from tubside.service.library import Library
from tubside.service.shop_models import ShopModels
from tubside.web.app import create_app
from tubside.web.pages.teach import SHOWN
from tubside.web.security.guarding import Guarding
from unscripted import asked

Fields = Mapping[str, str | list[str]]
Files = Mapping[str, tuple[str, bytes]]


@dataclass(frozen=True)
class Browser:
    """A browser without scripts, straight at the app, and the shop's models."""

    app: ASGIApp
    shop: ShopModels

    def get(self, path: str) -> httpx.Response:
        """Open a page."""
        return asked(self.app, "GET", path)

    def post(
        self, path: str, data: Fields | None = None, files: Files | None = None
    ) -> httpx.Response:
        """Send a form and follow where it leads."""
        return asked(self.app, "POST", path, data, files)


def clock() -> datetime:
    """A clock that stands still."""
    return datetime(2026, 3, 4, 9, 5, tzinfo=UTC)


@pytest.fixture
def client(tmp_path: Path) -> Iterator[Browser]:
    """A browser at a shop that has taught nothing yet."""
    store, folder = open_data(tmp_path, clock), models_folder(tmp_path)
    library = Library(shop=folder)
    app = create_app(Guarding(frozenset({"testserver"})), store, library, clock)
    yield Browser(app, ShopModels(folder))
    store.close()


SHOWS: tuple[tuple[str, dict[str, str]], ...] = (
    ("no_water", {"lamp.0": "flashing"}),
    ("wont_drain", {"lamp.1": "flashing", "lamp.5": "steady"}),
    ("out_of_balance", {"lamp.2": "3 blinks"}),
)


def draft_of(client: Browser, *, photo: bytes | None = None) -> str:
    """Begin a draft; its address."""
    files = {"photo": ("p.jpg", photo)} if photo else {"photo": ("", b"")}
    page = client.post("/models/new", {"name": "Shop One", "family": "front_load"}, files)
    assert page.status_code == 200, page.text
    return page.url.path.rpartition("/")[0]


def tell(client: Browser, draft: str) -> None:
    """Tell what it shows."""
    for condition, lights in SHOWS:
        form = {"do": "add", "condition": condition, "sure": "likely", "known_from": "published"}
        page = client.post(f"{draft}/shows", {**form, **lights, "source": "Sheet 4, page 7"})
        assert page.status_code == 200, page.text


def taught(client: Browser) -> Panel:
    """Teach a model from a photo at an angle, with taps as a browser sends them."""
    draft = draft_of(client, photo=photo_at_an_angle())
    shown = SHOWN / SIZE[0]
    for n in (2, 0, 3, 1):
        right, below = (shown * place for place in CORNERS[n])
        client.post(f"{draft}/corners", {"at.x": f"{right:.0f}", "at.y": f"{below:.0f}"})
    page = client.post(f"{draft}/corners", {"do": "straighten", "wide": "40", "high": "18"})
    found = re.search(r'width="264" height="(\d+)"', page.text)
    assert found is not None
    tall = int(found[1])
    for x, y in LAMPS:
        place = {"at.x": f"{x * SHOWN:.0f}", "at.y": f"{y * tall:.0f}"}
        page = client.post(f"{draft}/lamps", {"shape": "round", **place})
    assert "6 lamps" in page.text
    tell(client, draft)
    assert "Sheet 4, page 7" in client.get(f"{draft}/look").text
    page = client.post(f"{draft}/look")
    assert page.url.path == "/models/shop-one", page.text
    return client.shop.read("shop-one")


def test_from_a_photo_to_a_call(client: Browser) -> None:
    """Tests that a model taught from a photo has its lamps in place and takes a call at once."""
    panel = taught(client)
    assert [lamp.label for lamp in panel.lamps.values()] == ["1", "2", "3", "4", "5", "6"]
    width, height = front_size(40 / 18)
    for lamp, (x, y) in zip(panel.lamps.values(), LAMPS, strict=True):
        assert (lamp.x - MARGIN) / (width - 2 * MARGIN) == pytest.approx(x, abs=0.004)
        assert (lamp.y - MARGIN) / (height - 2 * MARGIN) == pytest.approx(y, abs=0.008)
    assert [shown.conditions for shown in panel.indications.values()] == [
        [name] for name, _ in SHOWS
    ]
    job = client.post("/call", {"danger": "none"}).url.path.removesuffix("/machine")
    assert "Shop One" in client.get(f"{job}/machine").text
    client.post(f"{job}/machine", {"machine": "model:shop-one"})
    page = client.post(f"{job}/panel", {"picked": next(iter(panel.indications))})
    assert page.status_code == 200
    assert "What is likely wrong" in page.text


def test_from_nothing(client: Browser) -> None:
    """Tests a model without a photo: taps on a blank front, a typed place and a display."""
    draft = draft_of(client)
    assert client.get(f"{draft}/board.jpg").headers["content-type"] == "image/jpeg"
    client.post(f"{draft}/lamps", {"shape": "bar", "label": "rinse", "at.x": "40", "at.y": "30"})
    client.post(f"{draft}/lamps", {"do": "typed", "x": "70", "y": "50", "label": ""})
    client.post(f"{draft}/lamps", {"shape": "display", "at.x": "132", "at.y": "60"})
    client.post(f"{draft}/lamps", {"do": "labels", "label.0": "rinse", "label.1": "spin"})
    form = {"do": "add", "sure": "sure", "known_from": "seen", "condition": "no_water"}
    client.post(f"{draft}/shows", {**form, "lamp.0": "steady", "display": "F 7"})
    assert client.post(f"{draft}/look").url.path == "/models/shop-one"
    panel = client.shop.read("shop-one")
    assert list(panel.lamps) == ["rinse", "spin"]
    assert [lamp.shape for lamp in panel.lamps.values()] == ["bar", "round"]
    assert next(iter(panel.indications.values())).display == "F 7"
    assert client.shop.photo("shop-one") is None
    job = client.post("/call", {"danger": "none"}).url.path.removesuffix("/machine")
    client.post(f"{job}/machine", {"machine": "model:shop-one"})
    assert 'name="display"' in client.get(f"{job}/panel").text
    page = client.post(f"{job}/panel", {"keep": "yes", "display": "f7"}).text
    assert "display f7" in page
    assert "Reads as no water" in page


def test_order_and_change_of_mind(client: Browser) -> None:
    """Tests up and down, taking away a lamp, and keeping the changed model again."""
    taught(client)
    draft = f"/models/drafts/{next((client.shop.folder / 'drafts').glob('*.json')).stem}"
    client.post(f"{draft}/shows", {"do": "up:2"})
    client.post(f"{draft}/shows", {"do": "down:0"})
    client.post(f"{draft}/lamps", {"remove": "3"})
    assert client.post(f"{draft}/look").status_code == 200
    panel = client.shop.read("shop-one")
    assert [shown.conditions[0] for shown in panel.indications.values()] == [
        "out_of_balance",
        "no_water",
        "wont_drain",
    ]
    assert list(panel.lamps) == ["1", "2", "3", "5", "6"]
    assert dict(list(panel.indications.values())[2].lamps) == {"2": "flashing", "6": "steady"}


def test_out_and_in(client: Browser, tmp_path: Path) -> None:
    """Tests that a file given out is taken in elsewhere, and not twice here."""
    panel = taught(client)
    content = client.get("/models/shop-one/export")
    assert "shop-one.zip" in content.headers["content-disposition"]
    again = client.post("/models/import", files={"archive": ("m.zip", content.content)})
    assert again.status_code == 422
    assert "already" in again.text
    store = open_data(tmp_path / "other", clock)
    shop = ShopModels(tmp_path / "other" / "models")
    app = create_app(Guarding(frozenset({"testserver"})), store, Library(shop=shop.folder), clock)
    page = Browser(app, shop).post("/models/import", files={"archive": ("m", content.content)})
    store.close()
    assert page.url.path == "/models/shop-one"
    assert shop.read("shop-one") == panel
    assert (shop.photo("shop-one") or b"")[:3] == b"\xff\xd8\xff"


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04nonsense", b"model: a", bytes(5_000_000)])
def test_bad_files_are_not_taken_in(client: Browser, content: bytes) -> None:
    """Tests that what is no model is refused plainly and leaves nothing."""
    page = client.post("/models/import", files={"archive": ("m.zip", content)})
    assert page.status_code in {413, 422}
    assert not client.shop.names()


def test_the_practice_round(client: Browser) -> None:
    """Tests that an answer is told right or wrong, and counted."""
    page = client.get("/models/brackwater-wren/practise").text
    answers = re.findall(r'name="answer" value="([^"]+)"', page)
    told = [
        client.post(
            "/models/brackwater-wren/practise", {"turn": "0", "right": "0", "answer": answer}
        ).text
        for answer in answers
    ]
    assert sum("<b>Right:</b>" in page and "1 of 1 right" in page for page in told) == 1
    assert sum("<b>No:</b>" in page and "0 of 1 right" in page for page in told) == len(told) - 1


BAD: tuple[tuple[str, Fields, str], ...] = (
    ("corners", {"do": "straighten"}, "four corners"),
    ("corners", {"at.x": "900", "at.y": "3"}, "on the picture"),
    ("corners", {"at.x": "nan", "at.y": "3"}, "no number"),
    ("lamps", {"do": "labels"}, ""),
    ("lamps", {"at.x": "3", "at.y": "3", "shape": "star"}, "shape"),
    ("lamps", {"at.x": "3", "at.y": "3", "label": "x" * 25}, "1 to 24"),
    ("shows", {"do": "add"}, "ell what each lamp does"),
    ("shows", {"do": "remove:99"}, ""),
    ("look", {}, "no lamps yet"),
)


@pytest.mark.parametrize(("page", "form", "words"), BAD)
def test_forms_sent_wrong(client: Browser, page: str, form: Fields, words: str) -> None:
    """Tests that a wrong form is told how to be mended, and changes nothing."""
    draft = draft_of(client, photo=photo_at_an_angle())
    file = next((client.shop.folder / "drafts").glob("*.json"))
    before = file.read_bytes()
    answer = client.post(f"{draft}/{page}", form)
    assert answer.status_code == (422 if words else 200)
    assert words in answer.text
    assert file.read_bytes() == before


def test_no_draft_and_no_folder(client: Browser) -> None:
    """Tests addresses that lead nowhere."""
    for path in ("drafts/" + "0" * 32 + "/lamps", "drafts/..%2f/lamps", "no-such", "no/export"):
        assert client.get(f"/models/{path}").status_code in {404, 422}
    assert client.get("/models/aldermoor-tern/export").status_code == 404


def test_an_indication_changed_where_it_stands(client: Browser) -> None:
    """Tests that the form comes filled in, that it keeps its place, and that twins are refused."""
    draft = draft_of(client)
    for x in ("40", "100", "160", "190", "220", "250"):
        client.post(f"{draft}/lamps", {"at.x": x, "at.y": "30"})
    tell(client, draft)
    page = client.get(f"{draft}/shows?edit=1").text
    assert "Change what it shows" in page
    assert page.count("<option selected>flashing") == page.count("<option selected>steady") == 1
    assert 'value="wont_drain" checked' in page
    assert 'value="Sheet 4, page 7"' in page
    form = {"do": "change:1", "condition": "wont_drain", "sure": "sure", "known_from": "seen"}
    client.post(f"{draft}/shows", {**form, "lamp.1": "steady"})
    twin = client.post(f"{draft}/shows", {**form, "do": "change:0", "lamp.1": "steady"})
    assert twin.status_code == 422
    assert client.post(f"{draft}/shows", {**form, "lamp.1": "steady"}).status_code == 200
    assert client.post(f"{draft}/look").status_code == 200
    shown = list(client.shop.read("shop-one").indications.values())
    assert [it.conditions[0] for it in shown] == ["no_water", "wont_drain", "out_of_balance"]
    assert dict(shown[1].lamps) == {"2": "steady"}
    assert shown[1].sure == "sure"


def test_drawn_anew_it_keeps_its_sheet(client: Browser) -> None:
    """Tests that a change of the panel leaves sheet and fits as they were."""
    draft = draft_of(client)
    client.post(f"{draft}/lamps", {"at.x": "40", "at.y": "30"})
    form = {"do": "add", "sure": "sure", "known_from": "seen", "lamp.0": "steady"}
    client.post(f"{draft}/shows", {**form, "condition": "no_water"})
    client.post(f"{draft}/look")
    value = {"do": "value", "name": "heater_resistance", "value": "26 Ω", "known_from": "sheet"}
    assert client.post("/models/shop-one/sheet", value).status_code == 200
    fit = {"do": "fit", "part": "drain-pump", "article": "ML-7", "known_from": "plate"}
    assert client.post("/models/shop-one/sheet", fit).status_code == 200
    before = client.shop.read("shop-one")
    client.post(f"{draft}/shows", {**form, "do": "change:0", "condition": "suds"})
    client.post(f"{draft}/look")
    after = client.shop.read("shop-one")
    assert next(iter(after.indications.values())).conditions == ["suds"]
    assert after.sheet == before.sheet != {}
    assert after.fits == before.fits != []


def test_two_that_look_the_same_are_refused_at_once(client: Browser) -> None:
    """Tests that the second of two equal indications is refused when it is told."""
    draft = draft_of(client)
    client.post(f"{draft}/lamps", {"at.x": "40", "at.y": "30"})
    form = {"do": "add", "sure": "sure", "known_from": "seen", "lamp.0": "steady"}
    assert client.post(f"{draft}/shows", {**form, "condition": "no_water"}).status_code == 200
    answer = client.post(f"{draft}/shows", {**form, "condition": "wont_drain"})
    assert answer.status_code == 422
    assert "told already" in answer.text
