"""From what a job file says of the panel to typed values."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from tubside.errors import FileProblemsError, JobFileError, Problem
from tubside.panel.lights import MOST_BLINKS, SOUNDS, Light, Sound, light_of
from tubside.panel.matching import Seen
from tubside.panel.misreading import sayable
from tubside.panel.schema import Panel
from tubside.strict_yaml import Path, nearest

NOT_SURE = "not sure"

Tell = Callable[[Path, str, str], Problem]
"""Makes a problem of a path, of what is wrong there, and of how to mend it."""


def parse_seen(
    panel: Panel,
    lamps: Mapping[str, str],
    sound: str | None,
    tell: Tell,
    error: type[FileProblemsError] = JobFileError,
    *,
    display: str | None = None,
) -> Seen:
    """What was told of lamps and sound, such as ``{pause: 3 blinks}`` and ``pulses``.

    Parameters
    ----------
    panel : Panel
        The model's panel.
    lamps : Mapping[str, str]
        Lamp id or label -> off, steady, flashing, "3 blinks" or "not sure".
    sound : str or None
        One of :data:`SOUNDS`, "not sure", or None when nothing was told.
    tell : Tell
        Places a problem in the file; paths are ("lamps", name) and ("sound",).
    error : type
        Which error to raise; it carries every problem found.
    display : str or None
        What was read on the display; None when nothing was told of it.
    """
    found: list[Problem] = []
    told: dict[str, Light | None] = {}
    for name, words in lamps.items():
        lamp = lamp_named(panel, name)
        if lamp is None:
            found.append(tell(("lamps", name), *_no_lamp(panel, name)))
        elif lamp in told:
            found.append(tell(("lamps", name), f"lamp '{name}' is told twice", "keep one"))
        elif not _can_be_said(panel, words):
            found.append(tell(("lamps", name), *_no_light(panel, name, words)))
        else:
            told[lamp] = light_of(words)
    heard = _sound(sound)
    if heard is None and sound is not None and _plain(sound) != NOT_SURE:
        mend = f"write {', '.join(SOUNDS)} or {NOT_SURE}"
        found.append(tell(("sound",), f"no sound is called '{sound}'", mend))
    if found:
        raise error(found)
    sure = {lamp: light for lamp, light in told.items() if light is not None}
    return Seen(MappingProxyType(sure), heard, display)


def lamp_named(panel: Panel, name: str) -> str | None:
    """The lamp that ``name`` means: its id, or the label printed beside it."""
    plain = _plain(name)
    for lamp, drawn in panel.lamps.items():
        if plain in (lamp.casefold(), _plain(drawn.label)):
            return lamp
    return None


def _plain(words: str) -> str:
    return " ".join(words.casefold().split())


def _can_be_said(panel: Panel, words: str) -> bool:
    return _plain(words) == NOT_SURE or light_of(words) in sayable(counts=panel.counts)


def _sound(words: str | None) -> Sound | None:
    return next((sound for sound in SOUNDS if words and sound == _plain(words)), None)


def _no_lamp(panel: Panel, name: str) -> tuple[str, str]:
    close = nearest(name, panel.lamps)
    known = f"its lamps are {', '.join(panel.lamps)}"
    mend = f"did you mean '{close}'? {known}" if close else known
    return f"the {panel.name} has no lamp '{name}'", mend


def _no_light(panel: Panel, name: str, words: str) -> tuple[str, str]:
    if not panel.counts:
        mend = f"write off, steady, flashing or {NOT_SURE}: this model counts no blinks"
    else:
        mend = f"write off, steady, flashing, 1 to {MOST_BLINKS} blinks (3 blinks), or {NOT_SURE}"
    return f"lamp '{name}' cannot be '{words}'", mend
