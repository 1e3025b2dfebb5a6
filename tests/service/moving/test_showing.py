"""Files of indications: each kind, what it says of its speed, photos, and what is refused."""

from __future__ import annotations

import re
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree as ET

import av
import msgspec
import numpy as np
import pytest
from PIL import Image

from tubside.errors import ModelError, RecordingError, UnknownNameError
from tubside.panel.moving import mp4
from tubside.panel.moving.pictures import Wish
from tubside.panel.moving.tune import RATE
from tubside.panel.rhythm import LIT_SHARE
from tubside.panel.schema import Panel
from tubside.panel.sketch import Sketch, SketchIndication, SketchLamp, panel_of
from tubside.recordings.sound import answering
from tubside.service.knowledge import Knowledge, knowledge_of_model, models
from tubside.service.moving.showing import (
    Asked,
    Kind,
    caption,
    indication_named,
    overview,
    shown,
    sound_of,
)
from watched import gif_frames, mp4_frames, watched

SMALL = Wish(width=160)
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def wren() -> Knowledge:
    """Return all about a model of many lamps."""
    return knowledge_of_model("brackwater-wren")


@pytest.fixture(scope="module")
def hurried(wren: Knowledge) -> Panel:
    """Return its panel with an indication that flashes eight times a second."""
    assert wren.panel is not None
    fast = msgspec.structs.replace(wren.panel.indications["one-five"], period_s=0.125)
    return msgspec.structs.replace(wren.panel, indications={"one-five": fast})


def panel_in(known: Knowledge) -> Panel:
    """Return the panel of a model."""
    assert known.panel is not None
    return known.panel


def test_a_fast_one_is_slowed_and_each_file_says_the_true_rate(hurried: Panel) -> None:
    """Tests that 8 Hz stands in the data of every kind of file, with what is drawn instead."""
    said = {}
    for kind in ("svg", "gif", "mp4", "png"):
        said[kind] = shown(hurried, "one-five", Asked(kind, SMALL, at_least_s=1.0))
    root = ET.fromstring(said["svg"])  # noqa: S314 - we wrote it
    assert (root.get("data-true-hz"), root.get("data-drawn-hz")) == ("8", "2.94")
    with Image.open(BytesIO(said["gif"])) as gif, Image.open(BytesIO(said["png"])) as png:
        told = [gif.info["comment"].decode(), png.info["Description"]]
    with av.open(BytesIO(said["mp4"])) as clip:
        told.append(clip.metadata["comment"])
    for words in told:
        assert "true rate 8 Hz; drawn rate 2.941 Hz" in words
        assert "drawn slower than life" in words


@pytest.mark.parametrize("model", models())
def test_the_svg_blinks_at_the_drawn_times(model: str) -> None:
    """Tests key times and length of each animation of every indication against its file."""
    panel = panel_in(knowledge_of_model(model))
    for name, indication in panel.indications.items():
        root = ET.fromstring(shown(panel, name, Asked("svg")))  # noqa: S314 - we wrote it
        for lamp, light in panel.lights(name).items():
            moving = root.findall(f".//{SVG}g[@data-lamp='{lamp}']//{SVG}animate")
            assert len(moving) == light.changes
            for animate in moving:
                length = float(animate.get("dur", "")[:-1])
                moments = [float(at) * length for at in animate.get("keyTimes", "").split(";")]
                period, count = indication.period_s or 0.0, max(light.count, 1)
                rises = [n * period for n in range(count)]
                falls = [rise + LIT_SHARE * period for rise in rises]
                assert length == pytest.approx(
                    count * period + (indication.gap_s or 0.0) * (light.kind == "blinks")
                )
                assert moments[::2] == pytest.approx(rises, abs=2e-4)
                assert moments[1::2] == pytest.approx(falls, abs=2e-4)
                assert animate.get("values", "").split(";") == ["1", ".08"] * count


def test_speed_width_and_words(wren: Knowledge) -> None:
    """Tests half speed, the width in pixels, and that bare files have no words of states."""
    panel = panel_in(wren)
    slow = shown(panel, "one-five", Asked("svg", Wish(300, 0.5))).decode()
    assert 'dur="2.200s"' in slow
    assert 'width="300"' in slow
    assert ">flashing<" in slow
    assert "drawn slower than life" in slow
    assert ">flashing<" not in shown(panel, "one-five", Asked("svg", Wish(words=False))).decode()
    frames = list(gif_frames(shown(panel, "one-five", Asked("gif", Wish(201)))))
    assert frames[0][2].shape[1] == 202, "even, as clips need"
    assert sum(lasting for _, lasting, _ in frames) == pytest.approx(1.1)


def test_a_clip_sounds_like_the_indication(wren: Knowledge) -> None:
    """Tests that three notes are heard in the clip's sound track, and none when silent."""
    panel = panel_in(wren)
    clip = shown(panel, "one-five", Asked("mp4", SMALL, at_least_s=2.0))
    with av.open(BytesIO(clip), "r") as opened:
        heard = np.concatenate([frame.to_ndarray()[0] for frame in opened.decode(audio=0)])
    pitches = []
    for at in (0.15, 0.5, 0.9):
        piece = heard[int(at * RATE) : int((at + 0.15) * RATE)]
        power = np.abs(np.fft.rfft(piece * np.hanning(len(piece)), 8 * len(piece)))
        pitches.append(power.argmax() * RATE / (8 * len(piece)))
    assert pitches == pytest.approx([1318.5, 1046.5, 784.0], rel=0.005)
    assert np.abs(heard[int(1.5 * RATE) : int(2.0 * RATE)]).max() < 0.01
    silent = shown(panel, "one-five", Asked("mp4", SMALL, silent=True, at_least_s=1.0))
    with av.open(BytesIO(silent)) as opened:
        assert not opened.streams.audio
    assert sound_of(panel, "dark") == "none"


@pytest.mark.parametrize(
    ("model", "name", "kind"),
    [("brackwater-wren", "one-five", "notes"), ("aldermoor-tern", "four", "pulses")],
)
def test_our_own_ear_hears_the_clip(tmp_path: Path, model: str, name: str, kind: str) -> None:
    """Tests that the program's reader of sounds names the kind that the panel's file has."""
    clip = tmp_path / "clip.mp4"
    clip.write_bytes(shown(panel_in(knowledge_of_model(model)), name, Asked("mp4", SMALL)))
    heard = msgspec.json.decode(answering.answer([clip], b"{}"))
    assert heard["kind"] == kind


def test_a_clip_without_its_package_says_what_to_install(
    wren: Knowledge, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests that the missing extra is named, and what works without it."""
    monkeypatch.setattr(mp4, "find_spec", lambda _name: None)
    with pytest.raises(RecordingError, match=r"tubside\[recordings\].*--gif"):
        shown(panel_in(wren), "one-five", Asked("mp4", SMALL))


def test_the_still_has_circles_and_words_and_holds(wren: Knowledge) -> None:
    """Tests a circle for each lamp that is not off, and that nothing moves."""
    still = shown(panel_in(wren), "one-two-six", Asked("svg", still=True)).decode()
    assert still.count('class="tp-around"') == 3
    assert "<animate" not in still
    assert still.count(">flashing<") == 2
    assert shown(panel_in(wren), "one-two-six", Asked("pdf")).startswith(b"%PDF")


@pytest.mark.parametrize("kind", ["svg", "png", "pdf"])
def test_an_overview_shows_every_indication_once(wren: Knowledge, kind: Kind) -> None:
    """Tests each kind of overview; the drawing has every meaning's first words."""
    made = overview(panel_in(wren), wren.pack, Asked(kind, Wish(300)))
    if kind == "svg":
        root = ET.fromstring(made)  # noqa: S314 - we wrote it
        inner = [one for one in root.iter(f"{SVG}svg") if one.get("class") == "tp-panel"]
        assert len(inner) == len(panel_in(wren).indications)
        words = " ".join(text.text or "" for text in root.iter(f"{SVG}text"))
        for name in panel_in(wren).indications:
            assert caption(panel_in(wren), wren.pack, name)[0][:15] in words
    else:
        assert made.startswith({"png": b"\x89PNG", "pdf": b"%PDF"}[kind])


def test_what_cannot_be_drawn_is_refused(wren: Knowledge) -> None:
    """Tests that a moving overview, an unknown name and sizes beyond reason say how to mend."""
    panel = panel_in(wren)
    with pytest.raises(UnknownNameError, match="take svg, png or pdf"):
        overview(panel, wren.pack, Asked("gif"))
    with pytest.raises(UnknownNameError, match=r"(?s)no indication 'x'; it has\n.*three-six"):
        indication_named(wren, "x")
    assert indication_named(wren, "no-water") == indication_named(wren, "three-six")
    for asked in (
        Asked("gif", Wish(5)),
        Asked("gif", Wish(speed=0.0)),
        Asked("mp4", at_least_s=1e9),
    ):
        with pytest.raises(ModelError, match="not "):
            shown(panel, "one-five", asked)


def taught() -> Panel:
    """Return a panel that a shop taught from a photo."""
    lamps = (SketchLamp(label="a", x=0.2, y=0.5), SketchLamp(label="b", x=0.8, y=0.5))
    it = SketchIndication(lamps={"0": "flashing", "1": "steady"}, conditions=["no_water"])
    return panel_of(
        Sketch(name="Mine", family="front_load", photo=True, lamps=lamps, indications=(it,))
    )


def test_lamps_blink_on_a_photo() -> None:
    """Tests that a taught panel's photo stands behind its lamps in a clip and in a drawing."""
    panel = taught()
    out = BytesIO()
    Image.new("RGB", (792, 264), (20, 160, 60)).save(out, "JPEG")
    name = next(iter(panel.indications))
    asked = Asked("mp4", SMALL, photo=out.getvalue(), at_least_s=1.0)
    frames = list(mp4_frames(shown(panel, name, asked)))
    _, seen, _ = watched(panel, frames)
    assert np.ptp(seen[0]) > 0.4
    assert seen[1].min() > 0.6
    rows, columns = frames[0][2].shape[:2]
    green = frames[0][2][int(rows * 0.3), columns // 2].astype(int)
    assert green[1] > green[0] + 60, "the photo is seen between the lamps"
    drawn = shown(panel, name, Asked("svg", photo=out.getvalue())).decode()
    assert re.search(r'<image [^>]*href="data:image/jpeg;base64,', drawn)


def test_a_photo_on_a_front_drawn_by_hand_is_refused(wren: Knowledge) -> None:
    """Tests that nothing is laid where nobody said that it lies."""
    with pytest.raises(ModelError, match="leave the photo out"):
        shown(panel_in(wren), "one-five", Asked("svg", photo=b"x"))
