"""An indication in words: for titles, for people who do not see it, for the terminal."""

from __future__ import annotations

from collections.abc import Mapping

from tubside.panel.lights import OFF, Light, Sound
from tubside.panel.schema import Panel

SLOWED = "drawn slower than life"


def in_short(panel: Panel, lights: Mapping[str, Light | None]) -> str:
    """The lamps that are not off, such as "1 steady, 5 flashing"."""
    told = [_one(panel.lamps[lamp].label, light) for lamp, light in lights.items() if light != OFF]
    return ", ".join(told) or "no lamp lit"


def _one(label: str, light: Light | None) -> str:
    """One lamp; a number beside a count would read as one number too many."""
    if label[-1:].isdigit() and light is not None and light.kind == "blinks":
        return f"lamp {label}: {light}"
    return f"{label} {light or 'not sure'}"


def in_full(panel: Panel, lights: Mapping[str, Light | None], sound: Sound | None) -> str:
    """Every lamp and the sound, in sentences."""
    told = ". ".join(
        f"Lamp {panel.lamps[lamp].label}: {_doing(light)}" for lamp, light in lights.items()
    )
    return f"{told}. Sound: {sound or 'not sure'}."


def _doing(light: Light | None) -> str:
    if light is None:
        return "not sure"
    return f"{light}, then a long gap, and again" if light.kind == "blinks" else str(light)
