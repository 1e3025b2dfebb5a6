"""An indication in words: for titles, for people who do not see it, for the terminal."""

from __future__ import annotations

from collections.abc import Mapping

from tubside.panel.lights import OFF, Light, Sound
from tubside.panel.schema import Panel

SLOWED = "drawn slower than life"


def in_short(panel: Panel, lights: Mapping[str, Light | None]) -> str:
    """The lamps that are not off, such as "1 steady, 5 flashing"."""
    told = [
        f"{panel.lamps[lamp].label} {light or 'not sure'}"
        for lamp, light in lights.items()
        if light != OFF
    ]
    return ", ".join(told) or "no lamp lit"


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
