"""Every indication of every demo model: drawn, written, decoded, and read by our own reader."""

from __future__ import annotations

import msgspec
import numpy as np
import pytest

from tubside.panel.lights import OFF, Light
from tubside.panel.moving.gif import gif_of
from tubside.panel.moving.loop import most_flashes
from tubside.panel.moving.mp4 import mp4_of
from tubside.panel.moving.pictures import Pictures, Wish, pictures_of
from tubside.panel.rhythm import LIT_SHARE
from tubside.panel.schema import Panel
from tubside.recordings.indication_evidence import indication_likelihoods
from tubside.recordings.lamps_read import ReadPanel, read_lamps
from tubside.service.knowledge import knowledge_of_model, models
from watched import Frame, gif_frames, mp4_frames, series_of, watched

SMALL = Wish(width=160)
MODELS = {name: knowledge_of_model(name).panel for name in models()}
EVERY = [(m, name) for m, panel in MODELS.items() if panel for name in panel.indications]
FEW = [
    ("aldermoor-tern", "four"),
    ("brackwater-wren", "two-four-five"),
    ("cindle-lark", "b-held-d-two"),
]
REST = [it for it in EVERY if it not in FEW]
LONG = pytest.mark.soak
FRAME_S = 1 / 25


def shown(model: str, name: str) -> tuple[Panel, Pictures]:
    """Return a panel and the pictures of one of its indications, small."""
    panel = MODELS[model]
    assert panel is not None
    return panel, pictures_of(panel, name, SMALL)


def says(read: ReadPanel, lights: dict[str, Light], period_s: float) -> None:
    """Check states, period, share lit, counts and groups against what was drawn."""
    groups = set()
    for lamp, light in lights.items():
        found = read.lamps[lamp]
        if light == OFF:  # a camera cannot prove that a lamp never lights between its frames
            assert found.state in {"off", "unknown"}
            assert found.probability["flashing"] < 0.05
            continue
        assert found.state == ("flashing" if light.changes else "steady"), lamp
        if light.kind == "flashing":
            assert found.period_s == pytest.approx(period_s, abs=0.01)
            assert found.duty == pytest.approx(LIT_SHARE, abs=0.04)
        if light.kind == "blinks":
            assert found.counts
            assert set(found.counts) == {light.count}
        if light.changes:
            groups.add((light, found.group))
    assert len(groups) == len({light for light, _ in groups}) == len({n for _, n in groups})


@pytest.mark.parametrize("model", MODELS)
def test_every_clip_keeps_time(model: str) -> None:
    """Tests that lamps of each decoded MP4 change when they should, frame by frame."""
    panel = MODELS[model]
    assert panel is not None
    for name in panel.indications:
        pictures = shown(model, name)[1]
        frames = list(mp4_frames(mp4_of(pictures, at_least_s=1.0)))
        on_time(panel, pictures, frames, 1e-4)
        assert max(lasting for _, lasting, _ in frames) <= FRAME_S + 1e-4


@pytest.mark.parametrize(("model", "name"), [*FEW, *(pytest.param(*it, marks=LONG) for it in REST)])
def test_the_reader_reads_the_clip_as_drawn(model: str, name: str) -> None:
    """Tests states, rate, counts and groups of lamps in the decoded MP4, and which one it is."""
    panel, pictures = shown(model, name)
    frames = list(mp4_frames(mp4_of(pictures, at_least_s=1.0)))
    read = read_lamps([series_of(panel, frames)])
    says(read, dict(pictures.loop.lights), pictures.loop.rhythm.period_s)
    likely = indication_likelihoods(read, panel)
    assert max(likely, key=lambda one: likely[one]) == name


def on_time(panel: Panel, pictures: Pictures, frames: list[Frame], within_s: float) -> None:
    """Check that lamps change when the loop says, over whole rounds, and never too often."""
    loop = pictures.loop
    begun, seen, end = watched(panel, frames)
    rounds = round(end / loop.length_s)
    assert end == pytest.approx(rounds * loop.length_s, abs=within_s)
    lit = seen > 0.4
    changes = np.flatnonzero((np.diff(lit, axis=1) != 0).any(axis=0)) + 1
    due = (np.arange(rounds)[:, None] * loop.length_s + loop.starts_s).ravel()[1:]
    assert len(changes) == (len(due) if loop.moves else 0)
    if loop.moves:
        assert begun[changes] == pytest.approx(due, abs=within_s)
    assert most_flashes(begun, lit.T, end) <= 3


@pytest.mark.parametrize("model", MODELS)
def test_every_gif_keeps_time(model: str) -> None:
    """Tests the frames of each GIF against the loop, within half a hundredth of a second."""
    panel = MODELS[model]
    assert panel is not None
    for name in panel.indications:
        pictures = shown(model, name)[1]
        frames = list(gif_frames(gif_of(pictures)))
        if pictures.loop.moves:
            on_time(panel, pictures, frames, 0.0051)
        else:
            assert len(frames) == 1


@pytest.mark.soak
@pytest.mark.parametrize(("model", "name"), EVERY[::3])
def test_a_gif_shows_the_same(model: str, name: str) -> None:
    """Tests that the reader reads a GIF as it reads the clip."""
    panel, pictures = shown(model, name)
    frames = list(gif_frames(gif_of(pictures)))
    if not pictures.loop.moves:
        return
    says(
        read_lamps([series_of(panel, frames)]),
        dict(pictures.loop.lights),
        pictures.loop.rhythm.period_s,
    )


@pytest.mark.parametrize(
    ("lamps", "period_s"),
    [({"1": "2 blinks", "4": "3 blinks", "5": "steady"}, 0.8), ({"1": "flashing"}, 0.125)],
    ids=["two counts", "too fast"],
)
def test_what_no_demo_model_does(lamps: dict[str, str], period_s: float) -> None:
    """Tests two counts on one beat and a slowed flash, decoded from both kinds of file."""
    wren = MODELS["brackwater-wren"]
    assert wren is not None
    made = msgspec.structs.replace(
        wren.indications["one-five"], lamps=lamps, period_s=period_s, gap_s=3.0
    )
    panel = msgspec.structs.replace(wren, indications={"it": made})
    pictures = pictures_of(panel, "it", SMALL)
    assert pictures.loop.rhythm.slowed
    assert not pictures.loop.cut
    on_time(panel, pictures, list(gif_frames(gif_of(pictures))), 0.0051)
    on_time(panel, pictures, list(mp4_frames(mp4_of(pictures, at_least_s=1.0))), 1e-4)
