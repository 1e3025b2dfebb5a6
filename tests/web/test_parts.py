"""Parts by their forms, without a script: kept, moved, loaded, ordered, brought in, read."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from io import BytesIO
from pathlib import Path

import httpx
import numpy as np
import pytest
from PIL import Image
from starlette.types import ASGIApp

from stores import START
from tubside.service.data_folder import open_data
from tubside.service.library import Library
from tubside.service.parts.shelf import one_part
from tubside.store.opening import Store
from tubside.web.app import create_app
from tubside.web.security.guarding import Guarding
from unscripted import asked

Fields = Mapping[str, str | list[str]]
LIST = (
    b"number;title;kinds;barcode;supplier;price;lead_days;place;units\n"
    b"DP-1;Drain pump;front_load/drain-pump top_load/drain-pump;501;Fenn Parts;24,50;2;workshop;3\n"
    b"BR-1;Motor brushes;front_load/brush-pair;;Ostler;9.9;5;van:ida;1\n"
)


@dataclass(frozen=True)
class Browser:
    """A browser without scripts, straight at the app."""

    app: ASGIApp
    store: Store

    def get(self, path: str) -> httpx.Response:
        """Open a page."""
        return asked(self.app, "GET", path)

    def post(
        self, path: str, data: Fields | None = None, file: tuple[str, bytes] | None = None
    ) -> httpx.Response:
        """Send a form, perhaps with a file under a name, and follow where it leads."""
        files = None if file is None else {file[0]: ("a-file", file[1])}
        return asked(self.app, "POST", path, data, files)

    def held(self, number: str) -> dict[str, int]:
        """Units of a part by place."""
        return one_part(self.store, number).shelved.held


@pytest.fixture(scope="module")
def library() -> Library:
    """The knowledge that came with the program, read once."""
    return Library()


@pytest.fixture
def browser(tmp_path: Path, library: Library) -> Iterator[Browser]:
    """A browser at a shop without parts."""
    moments = iter(START + timedelta(seconds=n) for n in range(100_000))

    def clock() -> datetime:
        return next(moments)

    store = open_data(tmp_path, clock)
    yield Browser(create_app(Guarding(frozenset({"testserver"})), store, library, clock), store)
    store.close()


def bring(browser: Browser, content: bytes = LIST, do: str = "keep") -> httpx.Response:
    """Bring a list in."""
    return browser.post("/parts/import", {"do": do}, ("archive", content))


def test_a_part_from_nothing(browser: Browser) -> None:
    """Tests keeping a part, its price, its fit and its movements, with its mistakes told."""
    page = browser.post("/parts", {"title": "Door <seal>", "kinds": "front_load/seal"})
    assert page.url.path == "/part/P-0001"
    assert "Door &lt;seal&gt;" in page.text
    here = "/part/P-0001"
    offer = {"do": "offer", "supplier": "Fenn Parts", "price": "12,50", "lead_days": "3"}
    assert "12.50" in browser.post(here, offer).text
    fit = {"do": "fit", "model": "brackwater-wren", "sure": "likely"}
    assert "likely fits" in browser.post(here, fit).text
    found = {"do": "move", "units": "2", "reason": "found", "target": "new-van", "van": "Ida"}
    assert "van ida" in browser.post(here, found).text
    used = {"do": "move", "units": "5", "reason": "used", "source": "van:ida"}
    refused = browser.post(here, used)
    assert refused.status_code == 422
    assert "say why all the same" in refused.text
    assert "fewer than nothing" in browser.post(here, {**used, "despite": "miscounted"}).text
    browser.post(here, {"do": "count", "place": "van:ida", "units": "1"})
    assert browser.held("P-0001") == {"van:ida": 1}
    assert browser.post("/parts", {"number": "P-0001", "title": "Another"}).status_code == 422
    assert browser.get("/part/none").status_code == 404


def test_a_list_is_tried_and_brought_in(browser: Browser) -> None:
    """Tests the dry run, the list itself, and that the same list again adds no part or price."""
    tried = bring(browser, do="try")
    assert "nothing was kept yet" in tried.text
    assert "2 new parts" in tried.text
    assert browser.get("/part/DP-1").status_code == 404
    assert "The list is in" in bring(browser).text
    assert browser.held("DP-1") == {"workshop": 3}
    without = LIST.replace(b";workshop;3", b";;").replace(b";van:ida;1", b";;")
    assert "0 new parts, 2 known ones, 0 new prices" in bring(browser, without).text
    assert "24.50" in browser.get("/part/DP-1").text


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"number,title\nA,\nB b,x\n", ("Line 2", "Line 3", "has no title", "no number of a part")),
        (b"number,price\nA,1\n", ("lacks title",)),
        (b"number,title,colour\nA,b,c\n", ("no column",)),
        (b"number,title\nA,b,c\n", ("Line 2", "more or fewer columns")),
        (b"number,title,units\nA,b,1.5\n", ("whole number",)),
        (b"number,title\nA,b\nA,c\n", ("Line 3", "stands otherwise in line 2")),
        (b"number,title,supplier,price\nA,b,C,dear\n", ("is no price",)),
        ("number,title\nA,ö\n".encode("latin-1"), ("UTF-8",)),
        (b"", ("lacks number",)),
    ],
)
def test_mistakes_of_a_list(browser: Browser, content: bytes, said: tuple[str, ...]) -> None:
    """Tests that every mistake is told by its line, and nothing is kept."""
    page = bring(browser, content or b"\n")
    assert page.status_code == 422
    for words in said:
        assert words in page.text
    assert "No parts yet" in browser.get("/parts").text


def test_search_and_low_ones_first(browser: Browser) -> None:
    """Tests that a barcode opens its part, words find parts, and low ones come first."""
    bring(browser, LIST.replace(b";workshop;3", b";;"))
    assert browser.get("/parts?q=501").url.path == "/part/DP-1"
    assert "Motor brushes" not in browser.get("/parts?q=drain").text
    page = browser.get("/parts").text
    assert "low: 1 wanted" in page
    assert page.index("Drain pump</b>") < page.index("Motor brushes</b>")


def test_a_part_used_on_a_job(browser: Browser) -> None:
    """Tests that a job's part lowers the stock, and returns when it is taken back."""
    bring(browser)
    job = browser.post("/call", {"danger": "none"}).url.path.removesuffix("/machine")
    browser.post(f"{job}/machine", {"machine": "family:front_load"})
    browser.post(f"{job}/trouble", {"condition": "wont_drain"})
    assert "Drain pump" in browser.get(f"{job}/used?q=pump").text
    told = {"part": "DP-1", "units": "1", "place": "workshop", "once": "form-00000001"}
    page = browser.post(f"{job}/used", told)
    browser.post(f"{job}/used", told)
    assert "Part used: 1 of DP-1, from workshop" in page.text
    assert browser.held("DP-1") == {"workshop": 2}
    assert browser.post(f"{job}/used", {**told, "part": "none"}).status_code == 422
    browser.post(f"{job}/take-back", {"fact": "form-00000001-0", "reason": "wrong-tap"})
    assert browser.held("DP-1") == {"workshop": 3}


def booked(browser: Browser, condition: str) -> str:
    """A job with a visit on the fourth of March."""
    job = browser.post("/call", {"danger": "none"}).url.path.removesuffix("/machine")
    browser.post(f"{job}/machine", {"machine": "family:front_load"})
    browser.post(f"{job}/trouble", {"condition": condition})
    visit = {"do": "book", "fee": "80", "agreed": "yes", "day": "2026-03-04"}
    browser.post(f"{job}/visit", {**visit, "from": "10:00", "until": "12:00"})
    return job


def test_the_kit_of_a_day(browser: Browser) -> None:
    """Tests that the kit loads what the visits may need, and is booked by one form."""
    bring(browser)
    assert "No visit is booked" in browser.get("/parts/kit?day=2026-03-04").text
    job = booked(browser, "wont_drain")
    page = browser.get("/parts/kit?day=2026-03-04&van=ida")
    assert job in page.text
    assert "Drain pump" in page.text
    assert "It earns its place" in page.text
    assert re.search(r"A second trip costs (between )?\d+ dollars", page.text)
    saves = re.search(
        r"Saves ([\d.]+) dollars of second trips.*? costs ([\d.]+) dollars", page.text
    )
    assert saves is not None
    assert float(saves[1]) > float(saves[2]) > 0.2
    assert "It fits with" in page.text
    told: Fields = {"day": "2026-03-04", "van": "ida", "part": ["DP-1"], "units": ["1"]}
    browser.post("/parts/kit", {**told, "once": "form-00000002"})
    browser.post("/parts/kit", {**told, "once": "form-00000002"})
    assert browser.held("DP-1") == {"workshop": 2, "van:ida": 1}
    assert "On the van already" in browser.get("/parts/kit?day=2026-03-04&van=ida").text
    assert browser.get("/parts/kit?day=someday").status_code == 422


def test_a_kit_of_many_jobs_comes_in_steps(
    browser: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests that no page takes long: it asks for itself again until all jobs are looked at."""
    monkeypatch.setattr("tubside.web.pages.parts_day.AT_ONCE", 0)
    monkeypatch.setattr("tubside.web.pages.parts_day.needs_of", lambda *_: None)
    booked(browser, "wont_drain")
    page = browser.get("/parts/kit?day=2026-03-04")
    assert page.headers["refresh"] == "0"
    assert "0 of 1 jobs looked through" in page.text


def test_what_to_order(browser: Browser) -> None:
    """Tests the order, its table, and that what was ordered is no longer to be ordered."""
    assert "no parts yet" in browser.get("/parts/order").text
    bring(browser, LIST.replace(b";workshop;3", b";;"))
    page = browser.get("/parts/order?target=97")
    assert "DP-1" in page.text
    table = browser.get("/parts/order.csv?target=97")
    assert table.headers["content-type"].startswith("text/csv")
    row = next(line for line in table.text.splitlines() if line.startswith("DP-1"))
    units = int(row.split(",")[2])
    assert units > 0
    assert row.split(",")[3] == "Fenn Parts"
    browser.post("/parts/order", {"part": ["DP-1"], "units": [str(units)]})
    assert browser.held("DP-1") == {"on-order": units}
    assert "DP-1" not in browser.get("/parts/order.csv?target=97").text
    assert browser.get("/parts/order?target=100").status_code == 422


def barcode(text: str) -> bytes:
    """A photo of a barcode, a little noisy."""
    zxing = pytest.importorskip("zxingcpp", reason="the extra camera is not installed")
    bars = zxing.create_barcode(text, zxing.BarcodeFormat.Code128)
    drawn = np.asarray(zxing.write_barcode_to_image(bars, scale=4), dtype=np.float64)
    drawn = np.pad(drawn, 60, constant_values=255.0)
    noisy = np.clip(drawn + np.random.default_rng(1).normal(0, 12, drawn.shape), 0, 255)
    out = BytesIO()
    Image.fromarray(noisy.astype(np.uint8)).save(out, "JPEG")
    return out.getvalue()


def test_a_photo_of_a_barcode(browser: Browser) -> None:
    """Tests that a photo opens the part of its barcode, and a plate's text is shown."""
    bring(browser, LIST.replace(b";501;", b";ARTICLE-501;"))
    photo = ("photo", barcode("ARTICLE-501"))
    assert browser.post("/parts/scan", {"of": "part"}, photo).url.path == "/part/DP-1"
    assert "ARTICLE-501" in browser.post("/parts/scan", {"of": "plate"}, photo).text


@pytest.mark.parametrize("content", [b"no picture", b"\x89PNG\r\n\x1a\n broken"])
def test_photos_that_are_none(browser: Browser, content: bytes) -> None:
    """Tests that what is no picture is refused in words, and so is one without a barcode."""
    pytest.importorskip("zxingcpp", reason="the extra camera is not installed")
    page = browser.post("/parts/scan", {"of": "part"}, ("photo", content))
    assert page.status_code == 422
    assert "take it again" in page.text
    out = BytesIO()
    Image.new("L", (300, 200), 200).save(out, "PNG")
    plain = browser.post("/parts/scan", {"of": "part"}, ("photo", out.getvalue()))
    assert "no barcode is found" in plain.text.lower()


def test_without_the_reader(browser: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that a server without the extra says so, and lets the number be typed."""
    for where in ("tubside.service.scanning", "tubside.web.pages.scan"):
        monkeypatch.setattr(f"{where}.can_scan", lambda: False)
    assert "lacks the extra" in browser.get("/parts/scan").text
    sent = browser.post("/parts/scan", {"of": "part"}, ("photo", b"x"))
    assert "tubside[camera]" in sent.text
