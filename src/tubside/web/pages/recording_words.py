"""What the facts of a phone's recordings say in a few words."""

from __future__ import annotations

from collections.abc import Callable
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


RECORDING_SAYS: dict[type[Any], Callable[..., str]] = {
    RecordingKept: lambda body: f"Kept: {RECORDING_WORDS[body.of]}",
    RecordingRead: read_words,
}
