"""The sound of a spin: kept bare, read apart, and taken as a reading of its job."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import datetime
from typing import Any

from msgspec.structs import replace

from tubside.errors import NotThereError
from tubside.pack.schema import Observer
from tubside.panel.schema import Panel
from tubside.panel.sheet_values import stated
from tubside.recordings.sound.spin_answering import SURE
from tubside.service.kept_recordings import erase_recording
from tubside.service.knowledge import Knowledge
from tubside.service.recording_reading import keep_shown, read_spin, shown_of
from tubside.service.records import ReadingDone
from tubside.service.views import JobView
from tubside.store.opening import Store

QUANTITY = "empty_spin_speed"
PHONE = "phone's microphone"
RPM = 2.0 * math.pi / 60.0
"""Of one turn a minute [rad/s]."""
WIDE = 1.645
"""Standard deviations to each side of a 90 % interval."""
FINEST = 0.005
"""Share of the speed. A drum's own speed differs as much from one minute to the next (common
practice, no source)."""

Told = dict[str, Any]


def spin_check(view: JobView) -> str | None:
    """The check of the job's pack that reads the speed of the spin, if it has one."""
    return None if view.known is None else check_of(view.known)


def check_of(known: Knowledge) -> str | None:
    """The check of a pack whose reading is the speed of the empty spin."""
    checks = known.pack.checks.items()
    names = (n for n, c in checks if c.reading is not None and c.reading.quantity == QUANTITY)
    return next(names, None)


def rated_rpm(panel: Panel | None) -> float | None:
    """The speed [rpm] that the model's sheet or file states; None where neither does.

    The sheet comes first: it is the shop's own.
    """
    if panel is None:
        return None
    text = panel.sheet["spin_speed"].value if "spin_speed" in panel.sheet else None
    text = text or panel.machine.get("spin_speed")
    return None if text is None else stated("spin_speed", text) / RPM


def spin_told(store: Store, ref: str) -> Told:
    """What was read from the sound of a spin; empty while it was not read."""
    shown = shown_of(store, ref)
    return {} if shown is None else shown.answer


def read_and_keep(
    store: Store, job_id: str, ref: str, now: Callable[[], datetime], told: Callable[[float], None]
) -> None:
    """Read the sound of a spin, and keep the answer with what is shown of it.

    Raises
    ------
    RecordingError
        When it cannot be read.
    NotThereError
        When it was erased.
    """
    answer = read_spin(store, job_id, ref, told)
    shown = shown_of(store, ref)
    if shown is not None:
        keep_shown(store, ref, replace(shown, answer=answer), now())


def erase_spin(store: Store, job_id: str, ref: str, now: datetime) -> None:
    """Erase the sound of a spin with what was read from it; the facts stay."""
    erase_recording(store, job_id, ref, now)
    shown = shown_of(store, ref)
    if shown is not None:
        keep_shown(store, ref, replace(shown, answer={}), now)


def is_sure(told: Told) -> bool:
    """Whether an answer tells one speed and leaves little to others."""
    return told.get("rpm") is not None and float(told["probability"]) >= SURE


def reading_of_spin(told: Told, check: str, by: Observer) -> ReadingDone:
    """The speed heard as a reading, with the deviation of its interval.

    Raises
    ------
    NotThereError
        When no speed is surely heard.
    """
    if not is_sure(told):
        msg = "no steady spin is surely heard in this recording; record twenty seconds of it again"
        raise NotThereError(msg)
    speed = float(round(told["rpm"]))
    low, high = (float(end) for end in told["interval"])
    return ReadingDone(
        check=check,
        value=speed * RPM,
        said=f"{speed:.0f} rpm",
        by=by,
        instrument=PHONE,
        error=max((high - low) / (2.0 * WIDE), FINEST * speed) * RPM,
    )
