"""A panel as it is being taught: what was tapped and told so far, and the panel it makes.

Places are shares of the panel's width and height, so that a photo of any size, or
none, will do. The drawing is made from them: lamps with their labels on a plain front.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Mapping, Sequence
from itertools import combinations
from math import hypot
from typing import Annotated, Literal, get_args

import msgspec

from tubside.errors import ModelError
from tubside.panel.extent import Extent, label_extent, lamp_extent
from tubside.panel.lights import OFF, Sound, light_of
from tubside.panel.schema import (
    Box,
    Display,
    Drawing,
    Front,
    Indication,
    Label,
    Lamp,
    Lettering,
    Panel,
    PanelSource,
    Plate,
    Record,
    Side,
    Sure,
)

Share = Annotated[float, msgspec.Meta(ge=0, le=1)]
Words = Annotated[str, msgspec.Meta(max_length=200)]
LampShape = Literal["round", "square", "bar"]
KnownFrom = Literal["seen", "published", "hearsay"]

WIDTH, MARGIN = 260.0, 36.0
"""The drawn panel's width and the room around it for labels [mm]."""
FLATTEST, TALLEST = 8.0, 0.5
"""The most and the least width over height that is drawn."""
LAMP, SMALLEST_LAMP = 19.0, 5.0
CLOSEST = 0.8
"""A lamp is no larger than this share of the way to the next one."""
WINDOW = (64.0, 26.0)
"""Width and height of a drawn display [mm]."""
PERIOD_S, GAP_S = 1.0, 3.0
"""Drawn times of what was seen without a watch (common practice, no source)."""
MOST_LAMPS, MOST_INDICATIONS = 24, 60
MARKS: Mapping[KnownFrom, str] = {"seen": "seen", "published": "sheet", "hearsay": "hearsay"}
SOUND_WORDS: Mapping[str, str] = {
    "notes": "It plays notes.",
    "pulses": "It gives short pulses.",
    "steady tone": "It gives a steady tone.",
}


class SketchLamp(Record, frozen=True, kw_only=True):
    """One lamp that was tapped."""

    label: Label
    x: Share
    y: Share
    shape: LampShape = "round"


class SketchIndication(Record, frozen=True, kw_only=True):
    """One thing that it shows: the place of a lamp in the list -> its words."""

    lamps: dict[str, Label]
    conditions: list[str]
    sound: Sound = "none"
    display: Label | None = None
    sure: Sure = "sure"
    known_from: KnownFrom = "seen"
    source: Words = ""
    note: Words = ""


class Sketch(Record, frozen=True, kw_only=True):
    """All that was told so far; ``shape`` is the panel's width over its height."""

    name: Label
    family: str
    shape: float = 3.0
    photo: bool = False
    corners: tuple[tuple[Share, Share], ...] = ()
    lamps: tuple[SketchLamp, ...] = ()
    display: tuple[Share, Share] | None = None
    indications: tuple[SketchIndication, ...] = ()
    saved_as: str | None = None


def id_of(words: str, taken: Collection[str] = (), otherwise: str = "model") -> str:
    """An id made from free words, with a number behind where it is taken.

    >>> id_of("Mühle 3, Top!"), id_of("1", ["1"]), id_of("洗", otherwise="lamp")
    ('muhle-3-top', '1-2', 'lamp')
    """
    plain = unicodedata.normalize("NFKD", words).encode("ascii", "ignore").decode().lower()
    stem = "-".join(re.findall(r"[a-z0-9]+", plain))[:48].strip("-") or otherwise
    name, number = stem, 2
    while name in taken:
        name, number = f"{stem}-{number}", number + 1
    return name


def panel_of(sketch: Sketch) -> Panel:
    """The panel that a sketch makes; whether it holds is for the checks to say.

    Raises
    ------
    ModelError
        When no lamp or no indication was told yet.
    """
    if not sketch.lamps:
        msg = "the panel has no lamps yet; tap one at least"
        raise ModelError(msg)
    if not sketch.indications:
        msg = "it shows nothing yet; tell one indication at least"
        raise ModelError(msg)
    ids = _lamp_ids(sketch)
    marks = _marks(sketch.indications)
    sounds = {shown.sound for shown in sketch.indications if shown.sound != "none"}
    return Panel(
        model=sketch.saved_as or id_of(sketch.name),
        name=sketch.name,
        family=sketch.family,
        about=_about(sketch),
        plate=Plate(),
        sources={
            mark: PanelSource(kind=kind, text=text or SOURCE_WORDS[kind])
            for (kind, text), mark in marks.items()
        },
        drawing=_drawing(sketch),
        lamps=dict(zip(ids, _placed(sketch), strict=True)),
        sounds={sound: SOUND_WORDS[sound] for sound in get_args(Sound) if sound in sounds},
        indications=_indications(sketch, ids, marks),
    )


SOURCE_WORDS: Mapping[KnownFrom, str] = {
    "seen": "Own observation.",
    "published": "The service sheet; page not told.",
    "hearsay": "Told by others.",
}


def front_size(shape: float) -> tuple[float, float]:
    """Width and height of the drawn front, with the room around the panel [mm]."""
    height = WIDTH / min(max(shape, TALLEST), FLATTEST)
    return WIDTH + 2 * MARGIN, round(height, 1) + 2 * MARGIN


def without_lamp(sketch: Sketch, place: int) -> Sketch:
    """The sketch with one lamp fewer; the indications forget it and keep the others."""
    lamps = tuple(lamp for n, lamp in enumerate(sketch.lamps) if n != place)
    shown = tuple(
        msgspec.structs.replace(
            one,
            lamps={
                str(int(n) - (int(n) > place)): words
                for n, words in one.lamps.items()
                if int(n) != place
            },
        )
        for one in sketch.indications
    )
    return msgspec.structs.replace(sketch, lamps=lamps, indications=shown)


def _about(sketch: Sketch) -> str:
    lamps = "one lamp" if len(sketch.lamps) == 1 else f"{len(sketch.lamps)} lamps"
    return f"Front of the {sketch.name} with {lamps}, taught by the shop."


def _lamp_ids(sketch: Sketch) -> list[str]:
    ids: list[str] = []
    for lamp in sketch.lamps:
        ids.append(id_of(lamp.label, ids, "lamp"))
    return ids


def _marks(shown: Sequence[SketchIndication]) -> dict[tuple[KnownFrom, str], str]:
    """A mark for each source: seen, sheet, sheet-2 and so on."""
    marks: dict[tuple[KnownFrom, str], str] = {}
    for one in shown:
        source = (one.known_from, one.source)
        if source not in marks:
            marks[source] = id_of(MARKS[one.known_from], marks.values())
    return marks


def _indications(
    sketch: Sketch, ids: Sequence[str], marks: Mapping[tuple[KnownFrom, str], str]
) -> dict[str, Indication]:
    found: dict[str, Indication] = {}
    for shown in sketch.indications:
        lamps = {ids[int(n)]: words for n, words in shown.lamps.items() if int(n) < len(ids)}
        lit = {lamp: words for lamp, words in lamps.items() if light_of(words) != OFF}
        lights = [light for words in lit.values() if (light := light_of(words))]
        looks = [f"{lamp} {words}" for lamp, words in lit.items()]
        name = "-".join([*looks, *([shown.display] if shown.display else [])]) or "dark"
        found[id_of(name, found)] = Indication(
            conditions=shown.conditions,
            lamps=lit,
            sound=shown.sound,
            note=shown.note,
            source=marks[(shown.known_from, shown.source)],
            period_s=PERIOD_S if any(light.changes for light in lights) else None,
            gap_s=GAP_S if any(light.kind == "blinks" for light in lights) else None,
            display=shown.display,
            sure=shown.sure,
        )
    return found


def _drawing(sketch: Sketch) -> Drawing:
    width, height = front_size(sketch.shape)
    front = Front(width=width, height=height, corner=18)
    shapes: list[Box | Display | Lettering] = [
        Box(x=0, y=0, width=width, height=height, corner=18, paint="fascia"),
        Lettering(x=16, y=20, text=sketch.name, size=10, over="fascia"),
    ]
    if sketch.display is not None:
        x, y = _place(sketch, *sketch.display)
        across, down = WINDOW
        left = min(max(x - across / 2, 0), width - across)
        top = min(max(y - down / 2, 0), height - down)
        box = {"x": round(left, 1), "y": round(top, 1)}
        outline = Box(
            x=max(box["x"] - 2, 0),
            y=max(box["y"] - 2, 0),
            width=across + 4,
            height=down + 4,
            corner=5,
            paint="plate",
        )
        shapes += [outline, Display(**box, width=across, height=down)]
    return Drawing(front=front, shapes=[*shapes])


def _place(sketch: Sketch, x: float, y: float) -> tuple[float, float]:
    width, height = front_size(sketch.shape)
    across, down = width - 2 * MARGIN, height - 2 * MARGIN
    return round(MARGIN + x * across, 1), round(MARGIN + y * down, 1)


def _placed(sketch: Sketch) -> list[Lamp]:
    """The lamps in their places, each label on the first side where it has room."""
    places = [_place(sketch, lamp.x, lamp.y) for lamp in sketch.lamps]
    gaps = [hypot(ax - bx, ay - by) for (ax, ay), (bx, by) in combinations(places, 2)]
    wide = 1 / 2.4 if any(lamp.shape == "bar" for lamp in sketch.lamps) else 1.0
    size = round(max(SMALLEST_LAMP, min([LAMP, *(CLOSEST * wide * gap for gap in gaps)])), 1)
    drawn = [
        Lamp(label=lamp.label, x=x, y=y, size=size, shape=lamp.shape)
        for lamp, (x, y) in zip(sketch.lamps, places, strict=True)
    ]
    full = [lamp_extent(lamp) for lamp in drawn]
    found: list[Lamp] = []
    for lamp in drawn:
        side = _side(lamp, front_size(sketch.shape), full)
        found.append(msgspec.structs.replace(lamp, label_at=side))
        full.append(label_extent(found[-1]))
    return found


def _side(lamp: Lamp, front: tuple[float, float], full: Sequence[Extent]) -> Side:
    """Below, above, right or left: the first within the front that covers the least."""
    best: Side = "below"
    least = float("inf")
    for side in get_args(Side):
        left, top, right, bottom = label_extent(msgspec.structs.replace(lamp, label_at=side))
        outside = left < 0 or top < 0 or right > front[0] or bottom > front[1]
        covered = sum(
            left < other[2] and other[0] < right and top < other[3] and other[1] < bottom
            for other in full
        )
        cost = covered + (100 if outside else 0) + (0 if side == "below" else 0.5)
        if cost < least:
            best, least = side, cost
    return best
