"""A clip and a sound on a job's page by forms alone: sent, tapped, read, told, taken back."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from html import unescape
from io import BytesIO
from pathlib import Path

import httpx
import pytest
from PIL import Image

import small_recordings
from stores import Ticking
from tubside.service.data_folder import open_data
from tubside.service.jobs import job_view, new_job, take_back
from tubside.service.kept_recordings import kept_recordings, read_recording
from tubside.service.library import Library
from tubside.service.recording_records import RecordingKept, RecordingRead
from tubside.service.records import Machine
from tubside.service.views import JobView
from unscripted import Unscripted, asked

PATIENCE_S = 120.0


@dataclass
class Shop(Unscripted):
    """A browser without scripts, and a job of the demo's front-loader."""

    name: str = ""

    @property
    def view(self) -> JobView:
        """The job as it stands."""
        return job_view(self.store, self.library, self.name)

    def at(self, path: str) -> httpx.Response:
        """Open a page of the job."""
        return self.get(f"/jobs/{self.name}/{path}")

    def send(
        self, path: str, data: Mapping[str, str | list[str]], file: bytes | None = None
    ) -> httpx.Response:
        """Send a form of the job, perhaps with a recording, and follow where it leads."""
        files = None if file is None else {"recording": ("whatever.jpg", file)}
        return asked(self.app, "POST", f"/jobs/{self.name}/{path}", data, files)

    def when_read(self, page: httpx.Response) -> str:
        """Look again until the recording is read; the page then."""
        until = time.monotonic() + PATIENCE_S
        while " being read</h1>" in page.text:
            assert page.headers["refresh"] == "2"
            assert time.monotonic() < until, "the reading takes too long"
            time.sleep(0.1)
            page = self.get(str(page.url.path))
        return unescape(page.text)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """A shop with one job of a known model, its trouble not yet told."""
    clock = Ticking()
    store, library = open_data(tmp_path, clock), Library()
    shop = Shop(store, library, clock)
    machine = Machine(family="front_load", model="brackwater-wren", age_years=9.0)
    shop.name = new_job(store, shop.author(), [machine])
    yield shop
    store.close()


@pytest.fixture(scope="module")
def clip(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A clip of the front-loader's ring: no water."""
    return small_recordings.ring_clip(tmp_path_factory.mktemp("clip") / "ring.mp4").read_bytes()


def ref_in(page: httpx.Response) -> str:
    """The reference of the recording that a page is about."""
    return str(page.url.path).rpartition("/")[2]


def taps(*lamps: str) -> list[str]:
    """Places of lamps as the page's form tells them."""
    wide, high = small_recordings.WIDTH, small_recordings.HEIGHT
    places = small_recordings.RING
    return [f"{n}:{places[n][0] / wide:.4f},{places[n][1] / high:.4f}" for n in lamps]


def sent(shop: Shop, clip: bytes) -> str:
    """Send a clip; its reference."""
    page = shop.send("recordings", {"of": "lamps", "once": "form-0001"}, clip)
    assert page.status_code == 200, page.text
    assert "Tap the middle of the panel" in page.text
    return ref_in(page)


def test_a_clip_from_upload_to_belief(shop: Shop, clip: bytes) -> None:
    """Tests a clip sent, tapped and read by forms alone: lamps told, belief moved, and back."""
    ref = sent(shop, clip)
    where = f"recordings/{ref}"
    page = shop.when_read(shop.send(where, {"do": "read", "at": taps("1", "3", "5", "6")}))
    assert "3: flashing" in page
    assert "6: steady" in page
    assert "1: off" in page or "1: unknown" in page
    assert re.search(r"every 1\.[01]\d s", page)
    known = shop.view.known
    assert known is not None
    assert page.index(known.pack.conditions["no_water"].title) > 0
    (read,) = [e.body for e in shop.view.entries if isinstance(e.body, RecordingRead)]
    assert max(read.likelihoods, key=lambda name: read.likelihoods[name]) == "three-six"
    assert read.refs == [ref]
    advice = shop.view.advice
    assert advice is not None
    assert advice.causes[0].probability > 0.05
    assert "Lamps on a clip" in shop.at("").text
    (fact,) = [e.id for e in shop.view.entries if isinstance(e.body, RecordingRead)]
    take_back(shop.store, shop.name, shop.author(), fact)
    assert shop.view.advice is None
    assert "not read yet" in shop.at("recordings").text


@pytest.mark.soak
def test_a_second_clip_is_read_together_with_the_first(shop: Shop, clip: bytes) -> None:
    """Tests that the fact of both clips stands in place of the first one's."""
    first = sent(shop, clip)
    mark: dict[str, str | list[str]] = {"do": "read", "at": taps("1", "3", "5", "6")}
    shop.when_read(shop.send(f"recordings/{first}", mark))
    asked = shop.send("recordings", {"of": "lamps", "once": "form-0009"}, clip)
    assert "read them together" in asked.text
    second = ref_in(asked)
    page = shop.when_read(shop.send(f"recordings/{second}", {**mark, "together": "yes"}))
    assert "Read together from 2 clips" in page
    read = [e.body for e in shop.view.entries if isinstance(e.body, RecordingRead)]
    assert [body.refs for body in read] == [[first], [first, second]]
    source = shop.view.source
    assert source is not None
    assert source.job.clip is not None
    assert source.job.clip.lamps == read[-1].likelihoods


def test_a_sound_is_read_at_once(shop: Shop, tmp_path: Path) -> None:
    """Tests that a sound needs no taps, and becomes evidence on the panel's sound alone."""
    sound = small_recordings.write_sound(tmp_path / "beeps.wav", seconds=6.0).read_bytes()
    page = shop.when_read(shop.send("recordings", {"of": "sound", "once": "form-0001"}, sound))
    assert "What was heard" in page
    (read,) = [e.body for e in shop.view.entries if isinstance(e.body, RecordingRead)]
    assert (read.of, read.sound, read.lamps) == ("sound", "pulses", {})
    assert "6 pulses" in page
    assert max(read.likelihoods.values()) == 1.0
    assert "nothing shown" in read.likelihoods


def test_taps_without_a_script(shop: Shop, clip: bytes) -> None:
    """Tests that an image form's coordinates become a closer look, then places of lamps."""
    ref = sent(shop, clip)
    where = f"recordings/{ref}"
    page = shop.at(f"{where}?again=yes&tap.x=132&tap.y=74")
    assert "Tap each lamp" in page.text
    near = re.search(r'name="near" value="([^"]+)"', page.text)
    assert near is not None
    x, y = map(float, near[1].split(","))
    assert (x, y) == pytest.approx((0.5, 74 / 148.5), abs=0.01)
    page = shop.at(f"{where}?again=yes&near={near[1]}&lamp=3&tap.x=132&tap.y=74")
    place = re.search(r'name="at" value="3:([\d.]+),([\d.]+)"', page.text)
    assert place is not None
    assert float(place[1]) == pytest.approx(0.5, abs=0.005)
    assert "2 more lamps to tap" in page.text
    page = shop.at(f"{where}?again=yes&near=whole&at={place[0][17:-1]}&drop=3")
    assert 'name="at"' not in page.text
    page = shop.at(f"{where}?again=yes&near=whole&lamp=2&do=typed&x=63&y=36,5")
    assert 'value="2:0.6300,0.3650"' in page.text


def test_the_first_picture_bears_the_taps(shop: Shop, clip: bytes) -> None:
    """Tests that the picture to tap is upright, sharper than shown, and ringed where tapped."""
    ref = sent(shop, clip)
    plain = shop.at(f"recordings/{ref}/first.jpg")
    ringed = shop.at(f"recordings/{ref}/first.jpg?near=0.5,0.5&at=1:0.5,0.5")
    assert plain.headers["content-type"] == "image/jpeg"
    with Image.open(BytesIO(plain.content)) as picture:
        assert picture.size == (792, 446)
    assert ringed.content != plain.content


def test_a_sound_is_kept_and_named_wrong(shop: Shop, tmp_path: Path) -> None:
    """Tests that a sound sent as a clip of lamps is refused in words, and nothing is kept."""
    sound = small_recordings.write_sound(tmp_path / "beeps.m4a").read_bytes()
    page = shop.send("recordings", {"of": "lamps", "once": "form-0001"}, sound)
    assert page.status_code == 422
    assert "sound without pictures" in page.text
    assert kept_recordings(shop.store, shop.name) == set()


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"\x00\x00\x00\x18ftypisom" + bytes(500), "damaged"),
        (b"PK\x03\x04" + bytes(500), "ZIP archive"),
        (b"#EXTM3U\nhttp://127.0.0.1/x\n", "playlist"),
    ],
)
def test_a_hostile_file_ends_in_words(shop: Shop, content: bytes, says: str) -> None:
    """Tests that what is no recording is refused on the page and the shop goes on."""
    page = shop.send("recordings", {"of": "lamps", "once": "form-0001"}, content)
    assert page.status_code == 422
    assert says in page.text
    assert shop.at("recordings").status_code == 200
    assert [e for e in shop.view.entries if isinstance(e.body, RecordingKept)] == []


def test_a_recording_can_be_saved_and_erased(shop: Shop, clip: bytes) -> None:
    """Tests that the bare copy is given out as a file, and erased with its first picture."""
    ref = sent(shop, clip)
    given = shop.at(f"recordings/{ref}/file")
    assert given.headers["content-disposition"] == 'attachment; filename="recording.mp4"'
    assert given.content == read_recording(shop.store, shop.name, ref).content
    assert b"Lavf" not in given.content[:400]
    assert shop.send(f"recordings/{ref}", {"do": "erase"}).status_code == 200
    assert kept_recordings(shop.store, shop.name) == set()
    assert shop.at(f"recordings/{ref}").status_code == 404
    assert "was erased" in shop.at("recordings").text


def test_too_few_taps_are_told(shop: Shop, clip: bytes) -> None:
    """Tests that two taps on a panel of six are refused in words."""
    ref = sent(shop, clip)
    page = shop.send(f"recordings/{ref}", {"do": "read", "at": taps("1", "2")})
    assert page.status_code == 422
    assert "Tap 3 lamps at least" in page.text


def test_a_danger_means_nothing_is_recorded(shop: Shop) -> None:
    """Tests that no recording is asked for while the machine has to stay off."""
    shop.send("danger", {"danger": "smoke", "once": "form-0002"})
    page = shop.at("recordings")
    assert "Leave the machine switched off" in page.text
    assert 'type="file"' not in page.text
    assert shop.send("recordings", {"of": "lamps", "once": "f-000003"}, b"x").status_code == 422


def test_a_job_without_a_model_takes_all_but_lamps(shop: Shop) -> None:
    """Tests that sound, spin and swing are offered without a panel, and lamps ask for a model."""
    shop.name = new_job(shop.store, shop.author(), [Machine(family="front_load")])
    link = f'href="/jobs/{shop.name}/recordings"'
    assert link in shop.at("trouble").text
    shop.send("trouble", {"first": "no_water", "once": "form-0004"})
    assert link in shop.at("").text
    page = shop.at("recordings").text
    assert "Name the model" in page
    assert "Let the phone hear the spin" in page
    assert "How the tub swings" in page
    assert f'href="/jobs/{shop.name}/shake"' not in page
    assert "How to film the lamps" not in page
    assert "What is to be read" not in page
    refused = shop.send("recordings", {"of": "lamps", "once": "form-0001"}, b"x")
    assert refused.status_code == 422
    assert "name its model first" in refused.text
    shop.send("visit", {"do": "arrive", "once": "form-0002"})
    assert f'href="/jobs/{shop.name}/shake"' in shop.at("recordings").text


def test_a_sound_without_a_panel_is_told_and_moves_nothing(shop: Shop, tmp_path: Path) -> None:
    """Tests that it is heard and listed, and is no evidence until a panel can read it."""
    shop.name = new_job(shop.store, shop.author(), [Machine(family="front_load")])
    sound = small_recordings.write_sound(tmp_path / "beeps.wav", seconds=6.0).read_bytes()
    sent = shop.send("recordings", {"of": "sound", "once": "form-0001"}, sound)
    page = shop.when_read(sent)
    assert "6 pulses" in page
    assert "moves no cause" in page
    assert "What fits best" not in page
    assert [e for e in shop.view.entries if isinstance(e.body, RecordingRead)] == []
    assert "heard; no panel known to read it by" in shop.at("recordings").text
    shop.send("machine", {"machine": "model:brackwater-wren", "once": "form-0003"})
    assert shop.view.known is not None
    assert shop.view.known.panel is not None
    assert "not read yet" in shop.at("recordings").text
    page = shop.when_read(shop.send(f"recordings/{ref_in(sent)}", {"do": "read"}))
    assert "What fits best" in page
    assert len([e for e in shop.view.entries if isinstance(e.body, RecordingRead)]) == 1
