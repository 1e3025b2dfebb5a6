"""Take a recording in without what a phone wrote into it, and read it for the belief.

The recording is kept as a bare copy beside the facts; the fact of its reading holds
likelihoods and lamps' states alone. What the page shows of it (places tapped, how lamps
flash, advice) is kept with advice that can be made again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import msgspec

from tubside.errors import RecordingError
from tubside.panel.matching import BLANK
from tubside.panel.schema import Panel
from tubside.recordings.apart import read_apart
from tubside.recordings.bare_copy import COPY, FIRST_PICTURE
from tubside.recordings.indication_evidence import likelihoods_and_blank
from tubside.recordings.lamps_read import ReadLamp, ReadPanel
from tubside.recordings.sound.answering import SoundAnswer
from tubside.recordings.sound.sound_evidence import likelihood_of, sound_likelihoods
from tubside.service.kept_recordings import Recording, add_recording, read_recording
from tubside.service.panel_coding import NOTHING_SHOWN
from tubside.service.recording_records import RecordingRead
from tubside.store import beside
from tubside.store.opening import Store

RECORDING_LIMIT = 100 << 20
"""Bytes kept of one recording: ten seconds of 4K at the 60 Mbit/s of phones, and some."""
PICTURE_LIMIT = 4 << 20
LEAST = 1e-9
"""Smallest likelihood kept, beside 1 for the likeliest message."""
NAMES = {"lamps": "the clip", "sound": "the sound", "spin": "the sound"}

Taps = Mapping[str, tuple[float, float]]


class Shown(msgspec.Struct, frozen=True):
    """What a page shows of one recording; ``taps`` are pixels of the first picture."""

    of: str
    width: int
    height: int
    seconds: float | None
    taps: dict[str, tuple[float, float]] = {}
    together: list[str] = []
    answer: dict[str, Any] = {}


def first_picture(ref: str) -> str:
    """The reference under which the first picture of a clip is kept."""
    return f"{ref[:58]}-first"


def take_in(store: Store, job_id: str, ref: str, of: str, content: bytes, now: datetime) -> None:
    """Keep a bare copy of a recording, and of a clip its first picture.

    Raises
    ------
    RecordingError
        When it is no such recording, or cannot be read.
    AttachmentError
        When it is empty or too large.
    """
    with TemporaryDirectory(prefix="tubside-") as folder:
        sent, copy, picture = Path(folder, NAMES[of]), Path(folder, COPY), Path(folder, "picture")
        sent.write_bytes(content)
        told = read_apart("bare", [sent], kept={COPY: copy, FIRST_PICTURE: picture})
        if of == "lamps" and not told["width"]:
            msg = "this is a sound without pictures; film the panel, or send it as a sound"
            raise RecordingError(msg)
        if of != "lamps" and not told["sound"]:
            msg = "this clip has no sound; record it with sound"
            raise RecordingError(msg)
        bare = Recording(ref, told["media_type"], copy.read_bytes())
        add_recording(store, job_id, bare, now, most=RECORDING_LIMIT)
        if picture.exists() and of != "spin":
            still = Recording(first_picture(ref), "image/jpeg", picture.read_bytes())
            add_recording(store, job_id, still, now, most=PICTURE_LIMIT)
    keep_shown(store, ref, Shown(of, told["width"], told["height"], told["seconds"]), now)


def shown_of(store: Store, ref: str) -> Shown | None:
    """What is shown of a recording, None when that is not there any more."""
    with store.reading() as opened:
        text = beside.told(opened, _key(ref))
    return None if text is None else msgspec.json.decode(text, type=Shown)


def keep_shown(store: Store, ref: str, shown: Shown, now: datetime) -> None:
    """Keep what is shown of a recording, in place of what was there."""
    with store.writing() as opened:
        beside.keep_told(opened, _key(ref), msgspec.json.encode(shown).decode(), now)


def read_lamps(
    store: Store,
    job_id: str,
    clips: Mapping[str, Taps],
    panel: Panel,
    told: Callable[[float], None],
) -> tuple[RecordingRead, dict[str, Any]]:
    """The fact of reading the lamps of clips together, and the reader's whole answer.

    Parameters
    ----------
    clips
        Reference -> lamp id -> place in pixels of its first picture.

    Raises
    ------
    RecordingError
        When a clip cannot be read, or its lamps are not where they were tapped.
    NotThereError
        When a clip was erased.
    """
    drawn = {n: {"x": lamp.x, "y": lamp.y, "size": lamp.size} for n, lamp in panel.lamps.items()}
    options = {"taps": [dict(taps) for taps in clips.values()], "drawn": drawn}
    answer = _read(store, job_id, list(clips), "lamps", options, told)
    read = ReadPanel(
        {name: msgspec.convert(lamp, ReadLamp) for name, lamp in answer["lamps"].items()},
        tuple(answer["advice"]),
    )
    fact = RecordingRead(
        refs=list(clips),
        of="lamps",
        likelihoods=as_kept(likelihoods_and_blank(read, panel)),
        lamps={name: lamp.state for name, lamp in read.lamps.items()},  # type: ignore[misc]  # a known state
    )
    return fact, answer


def read_sound(
    store: Store, job_id: str, ref: str, panel: Panel, told: Callable[[float], None]
) -> tuple[RecordingRead, dict[str, Any]]:
    """The fact of what a sound says of the panel, and the reader's whole answer.

    Raises
    ------
    RecordingError
        When it cannot be read.
    NotThereError
        When it was erased.
    """
    answer = hear_sound(store, job_id, ref, told)
    heard = msgspec.convert(answer, SoundAnswer)
    silent = {BLANK: likelihood_of(heard, "none")}
    fact = RecordingRead(
        refs=[ref],
        of="sound",
        likelihoods=as_kept(sound_likelihoods(heard, panel) | silent),
        sound=heard.kind,
    )
    return fact, answer


def hear_sound(
    store: Store, job_id: str, ref: str, told: Callable[[float], None]
) -> dict[str, Any]:
    """What a sound is, where no panel is known that could mean something by it.

    Raises
    ------
    RecordingError
        When it cannot be read.
    NotThereError
        When it was erased.
    """
    return _read(store, job_id, [ref], "sound", {}, told)


def read_spin(store: Store, job_id: str, ref: str, told: Callable[[float], None]) -> dict[str, Any]:
    """What the sound of a spin tells: the reader's whole answer.

    Raises
    ------
    RecordingError
        When it cannot be read.
    NotThereError
        When it was erased.
    """
    return _read(store, job_id, [ref], "spin", {}, told)


def as_kept(likelihoods: Mapping[str, float]) -> dict[str, float]:
    """Likelihoods as a fact holds them: 1 for the likeliest message, none of them nothing.

    >>> as_kept({"stopped": 0.5, BLANK: 0.0})
    {'stopped': 1.0, 'nothing shown': 1e-09}
    """
    top = max(likelihoods.values())
    return {
        NOTHING_SHOWN if name == BLANK else name: max(value / top, LEAST)
        for name, value in likelihoods.items()
    }


def _read(
    store: Store,
    job_id: str,
    refs: Sequence[str],
    kind: str,
    options: Mapping[str, Any],
    told: Callable[[float], None],
) -> dict[str, Any]:
    with TemporaryDirectory(prefix="tubside-") as folder:
        paths = []
        for number, ref in enumerate(refs, start=1):
            name = NAMES[kind] if len(refs) == 1 else f"{NAMES[kind]} {number}"
            paths.append(Path(folder, name))
            paths[-1].write_bytes(read_recording(store, job_id, ref).content)
        return read_apart(kind, paths, options, told=told)


def _key(ref: str) -> str:
    return f"recording-{ref}"
