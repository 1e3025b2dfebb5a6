"""What the facts of a phone's recordings say in a few words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from tubside.service.recording_records import RecordingKept, RecordingRead

RECORDING_WORDS = {
    "lamps": "a clip of the lamps",
    "sound": "a sound",
    "spin": "a sound of the spin",
    "shake": "a log of the shaking",
}


def read_words(body: RecordingRead) -> str:
    """What was read, lamp by lamp, or the kind of sound."""
    of = "Lamps on a clip" if body.of == "lamps" else "Sound recorded"
    told = [f"{lamp} {state}" for lamp, state in body.lamps.items()]
    return f"{of}: " + ", ".join([*told, *([body.sound] if body.sound else [])] or ["read"])


def spin_words(answer: Mapping[str, Any]) -> str:
    """What the sound of a spin told, in a line.

    >>> spin_words({"rpm": 1184.2}), spin_words({"rpm": None}), spin_words({})
    ('1184 rpm', 'no steady spin heard', 'not read yet')
    """
    if "rpm" not in answer:
        return "not read yet"
    return "no steady spin heard" if answer["rpm"] is None else f"{answer['rpm']:.0f} rpm"


RECORDING_SAYS: dict[type[Any], Callable[..., str]] = {
    RecordingKept: lambda body: f"Kept: {RECORDING_WORDS[body.of]}",
    RecordingRead: read_words,
}
