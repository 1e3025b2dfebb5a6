"""The page of the spin by its forms: a sound sent, read, drawn, pegged as a reading, erased."""

from __future__ import annotations

import math
import re
import time
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import httpx
import pytest

from made_sounds import write
from made_spins import MadeSpin, made_spin
from tubside.errors import NotThereError
from tubside.service.jobs import job_view, record
from tubside.service.kept_recordings import Recording, add_recording, kept_recordings
from tubside.service.library import Library
from tubside.service.recording_reading import Shown, keep_shown
from tubside.service.recording_records import RecordingKept
from tubside.service.records import DangerTold, Place, ReadingDone
from tubside.service.spin_sound import rated_rpm, reading_of_spin
from tubside.service.views import JobView
from tubside.web.pages.spin_drawing import spin_drawing
from tubside.web.pages.spinning import in_words
from unscripted import Unscripted, unscripted_at

LIBRARY = Library()
SITE = Place(where="site")
CAUTIONS = ["moving-drum", "live-work"]
PATIENCE_S = 120.0
TOLD = {
    "rpm": 1184.2,
    "interval": [1181.0, 1187.4],
    "probability": 0.97,
    "steady_s": [12.0, 20.0],
    "course": [{"time_s": 1.0, "rpm": 400.0}, {"time_s": 11.0, "rpm": 1180.0}],
    "run_up": {"from_rpm": 400.0, "to_rpm": 1184.0, "start_s": 1.0, "end_s": 11.0},
    "advice": [],
    "length_s": 21.0,
}


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Unscripted]:
    """An empty shop without scripts."""
    made = unscripted_at(tmp_path, LIBRARY)
    yield made
    made.store.close()


@pytest.fixture(scope="module")
def spun() -> MadeSpin:
    """A drum that keeps its speed, over noise as loud as itself."""
    return made_spin(77, 0.0)


def seen(shop: Unscripted, job: str) -> JobView:
    """The job as it stands."""
    return job_view(shop.store, shop.library, job)


def when_read(shop: Unscripted, page: httpx.Response) -> str:
    """Look again until the recording is read; the page then."""
    until = time.monotonic() + PATIENCE_S
    while " being read</h1>" in page.text:
        assert page.headers["refresh"] == "2"
        assert time.monotonic() < until, "the reading takes too long"
        time.sleep(0.1)
        page = shop.get(str(page.url.path))
    return unescape(page.text)


def kept(shop: Unscripted, job: str, answer: dict[str, object]) -> str:
    """A spin of the job that was read before; the path of its page."""
    view, ref = seen(shop, job), "spin-0000001"
    add_recording(shop.store, view.id, Recording(ref, "audio/wav", b"x"), shop.clock(), most=9)
    record(shop.store, job, shop.author(), RecordingKept(ref=ref, of="spin"))
    keep_shown(shop.store, ref, Shown("spin", 0, 0, 21.0, answer=answer), shop.clock())
    return f"/jobs/{job}/spin/{ref}"


def test_a_sound_becomes_the_reading_of_the_check(
    shop: Unscripted, spun: MadeSpin, tmp_path: Path
) -> None:
    """Tests the way from a sound to a speed on the line, with the deviation of its interval."""
    job = shop.job(SITE)
    assert f'href="/jobs/{job}/spin"' in shop.get(f"/jobs/{job}/steps/spin-speed").text
    page = shop.get(f"/jobs/{job}/spin")
    assert page.text.index('name="caution"') < page.text.index("Hold the phone")
    content = write(tmp_path / "spin.m4a", spun.wave).read_bytes()
    sent = shop.post(f"/jobs/{job}/spin", {"caution": CAUTIONS, "once": "once-000001"}, content)
    text, true = when_read(shop, sent), float(spun.rpm.mean())
    told = re.search(r"<h1>(\d+) rpm</h1>", text)
    assert told is not None
    assert float(told[1]) == pytest.approx(true, rel=0.01)
    assert text.count('class="cv cv-0"') == 2
    shop.post(str(sent.url.path), {"do": "use", "once": "once-000002"})
    body = next(e.body for e in seen(shop, job).entries if isinstance(e.body, ReadingDone))
    assert (body.check, body.said) == ("spin-speed", f"{told[1]} rpm")
    assert body.value == pytest.approx(true * math.pi / 30.0, rel=0.01)
    assert body.error is not None
    assert 0.005 <= body.error / body.value < 0.02
    assert seen(shop, job).advice is not None
    assert f"{told[1]} rpm" in shop.get(f"/jobs/{job}/recordings").text


def test_by_telephone_it_is_told_and_not_pegged(shop: Unscripted) -> None:
    """Tests that a customer's spin is shown with what it means, and is no reading."""
    job = shop.job()
    page = shop.get(f"/jobs/{job}/spin")
    assert page.text.index("Hands off") < page.text.index("Hold the phone")
    path = kept(shop, job, TOLD)
    text = shop.get(path).text
    assert "1184 rpm" in text
    assert "on the line</button>" not in text
    assert "taken by the technician at the machine" in text
    assert shop.post(path, {"do": "use"}).status_code == 422
    assert not any(isinstance(e.body, ReadingDone) for e in seen(shop, job).entries)


@pytest.mark.parametrize(
    ("content", "told"),
    [(b"PK\x03\x04" + bytes(500), "zip archive"), (b"", "choose a recording")],
)
def test_what_is_no_sound_is_refused_on_the_same_page(
    shop: Unscripted, content: bytes, told: str
) -> None:
    """Tests that the page says what is wrong, and keeps nothing."""
    job = shop.job()
    page = shop.post(f"/jobs/{job}/spin", {"once": "once-000003"}, content)
    assert page.status_code == 422
    assert told in page.text.casefold()
    assert kept_recordings(shop.store, job) == set()


def test_cautions_come_first_at_the_machine(shop: Unscripted) -> None:
    """Tests that a spin without ticked cautions is refused before the file is looked at."""
    job = shop.job(SITE)
    page = shop.post(f"/jobs/{job}/spin", {"caution": "live-work"}, b"RIFF")
    assert page.status_code == 422
    assert "what can hurt" in page.text.casefold()


def test_no_spin_is_asked_for_while_there_is_a_danger(shop: Unscripted) -> None:
    """Tests that after smoke neither the form is there nor a recording or reading is taken."""
    job = shop.job(SITE)
    path = kept(shop, job, TOLD)
    record(shop.store, job, shop.author(), DangerTold(kinds=["smoke"]))
    assert 'type="file"' not in shop.get(f"/jobs/{job}/spin").text
    assert shop.post(f"/jobs/{job}/spin", {"caution": CAUTIONS}, b"RIFF").status_code == 422
    assert "on the line</button>" not in shop.get(path).text
    assert shop.post(path, {"do": "use"}).status_code == 422


def test_an_unsure_speed_cannot_be_pegged(shop: Unscripted) -> None:
    """Tests that a speed likely to be another one gives advice and no number to peg."""
    job = shop.job(SITE)
    path = kept(shop, job, {**TOLD, "probability": 0.6, "advice": ["Record it again."]})
    text = shop.get(path).text
    assert "Record it again." in text
    assert "on the line</button>" not in text
    assert shop.post(path, {"do": "use"}).status_code == 404
    with pytest.raises(NotThereError, match="no steady spin"):
        reading_of_spin({"rpm": None}, "spin-speed", "technician")


def test_a_spin_can_be_erased(shop: Unscripted) -> None:
    """Tests that sound and answer go, and that the list of recordings still names it."""
    job = shop.job(SITE)
    path = kept(shop, job, TOLD)
    assert f'href="{path}"' in shop.get(f"/jobs/{job}/spin").text
    assert f'href="{path}"' in shop.get(f"/jobs/{job}/recordings").text
    shop.post(path, {"do": "erase"})
    assert kept_recordings(shop.store, job) == set()
    assert shop.get(path).status_code == 404
    assert "was erased" in shop.get(f"/jobs/{job}/recordings").text


@pytest.mark.parametrize(
    ("rated", "says"),
    [(1200.0, "reaches the 1200"), (1400.0, "stays at 85 %"), (900.0, "more than its drum")],
)
def test_the_speed_is_held_against_the_rated_one(rated: float, says: str) -> None:
    """Tests what is said of a speed reached, missed, or above what the drum should turn."""
    assert says in in_words(TOLD, rated)["reached"]


def test_the_rated_speed_is_that_of_the_model() -> None:
    """Tests that the model's own file is asked, and that no model is no speed."""
    known = LIBRARY.model("brackwater-wren")
    assert rated_rpm(known.panel) == pytest.approx(1400.0)
    assert rated_rpm(None) is None


def test_the_drawing_is_to_scale() -> None:
    """Tests that the steady stretch lies at its speed and times; of no speed nothing is drawn."""
    drawing = spin_drawing(TOLD, 1400.0, "words & more")
    assert drawing is not None
    assert 'aria-label="words &amp; more"' in drawing
    ends = re.search(r'class="cv cv-0" d="M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)"', drawing)
    stated = re.search(r'class="cv cv-2" d="M([\d.]+) ([\d.]+)L', drawing)
    assert ends is not None
    assert stated is not None
    ground, high = 168.0, 168.0 - float(stated[2])
    assert (ground - float(ends[2])) / high == pytest.approx(1184.2 / 1400.0, abs=0.002)
    width = (float(ends[3]) - float(ends[1])) / (348.0 - 46.0)
    assert width == pytest.approx(8.0 / 21.0, abs=0.002)
    assert spin_drawing({"rpm": None, "length_s": 9.0}, 1400.0, "none") is None
