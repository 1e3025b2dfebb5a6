"""The lines below a drawn front: counts as a strip of squares, the sound, the speed."""

from __future__ import annotations

from collections.abc import Mapping

from tubside.panel.lights import Light, Sound
from tubside.panel.markup import number, path, rectangle, text
from tubside.panel.schema import Panel
from tubside.panel.wording import SLOWED

STRIP_MM, LINE_MM = 44.0, 22.0
"""Height of a strip of counts and of a line of words [mm]."""

SQUARE, PITCH, GAP, AGAIN = 14.0, 22.0, 92.0, 2
LETTERS = 12.0


def legend_height(
    lights: Mapping[str, Light | None], sound: Sound | None, *, slowed: bool
) -> float:
    """How much room the legend takes below the front [mm]."""
    return STRIP_MM * len(_counted(lights)) + (LINE_MM if sound or slowed else 0)


def legend(
    panel: Panel, lights: Mapping[str, Light | None], sound: Sound | None, *, slowed: bool
) -> str:
    """The legend, its top left at 0, 0."""
    counted = _counted(lights)
    strips = "".join(
        _strip(panel, lamp, light, STRIP_MM * row) for row, (lamp, light) in enumerate(counted)
    )
    y = STRIP_MM * len(counted) + 12
    heard = _sound(sound, y) if sound else ""
    right = panel.drawing.front.width
    return (
        strips
        + heard
        + (text(right, y, SLOWED, LETTERS, "tp-say tp-end tp-moving") if slowed else "")
    )


def _counted(lights: Mapping[str, Light | None]) -> list[tuple[str, Light]]:
    return [(lamp, light) for lamp, light in lights.items() if light and light.kind == "blinks"]


def _strip(panel: Panel, lamp: str, light: Light, top: float) -> str:
    """A square for every blink, a dotted line for the gap, and the count beginning again."""
    label = panel.lamps[lamp].label if len(panel.lamps) > 1 else ""
    left = 8.0 * len(label) + 6 if label else 0.0
    room = panel.drawing.front.width - left - GAP
    pitch = min(PITCH, room / (light.count + AGAIN + 2))
    gap_from = left + light.count * pitch
    again_from = gap_from + GAP
    gap_to, end = again_from - 6, again_from + AGAIN * pitch
    return "".join(
        [
            text(0, top + SQUARE - 1, label, LETTERS, "tp-name"),
            *_squares(left, light.count, pitch, top),
            _dotted(gap_from, gap_to, top),
            *_squares(again_from, AGAIN, pitch, top),
            _dotted(end, end + 1.4 * pitch, top),
            _under(left, gap_from - pitch + SQUARE, top, str(light)),
            _under(gap_from, gap_to, top, "a long gap"),
            text(again_from, top + SQUARE + 15, "and again", LETTERS, "tp-say"),
        ]
    )


def _squares(left: float, count: int, pitch: float, top: float) -> list[str]:
    side = min(SQUARE, 0.72 * pitch)
    return [
        rectangle((left + n * pitch, top, side, SQUARE), 0.2 * SQUARE, "tp-count")
        for n in range(count)
    ]


def _dotted(left: float, right: float, top: float) -> str:
    level = number(top + SQUARE / 2)
    return path(f"M{number(left)} {level}H{number(right)}", "tp-gap")


def _under(left: float, right: float, top: float, said: str) -> str:
    return text((left + right) / 2, top + SQUARE + 15, said, LETTERS, "tp-say tp-mid")


def _sound(sound: Sound, y: float) -> str:
    """A small picture of the sound and its word."""
    bars = {
        "pulses": [(0, 0, 5), (9, 0, 5), (18, 0, 5)],
        "notes": [(0, -4, 7), (8, 0, 7), (16, 4, 7)],
        "steady tone": [(0, 0, 23)],
        "none": [],
    }[sound]
    drawn = "".join(
        rectangle((x, y - 6.5 + down, width, 5), 2, "tp-count") for x, down, width in bars
    )
    said = "no sound" if sound == "none" else f"sound: {sound}"
    return drawn + text(31 if bars else 0, y, said, LETTERS, "tp-say")
