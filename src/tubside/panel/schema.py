"""The shape of a model's panel file: one struct per kind of record, nothing computed.

All places are in millimetres from the top left of the drawn front, x to the right
and y downwards. Angles are in degrees clockwise from twelve o'clock.
"""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from tubside.panel.lights import OFF, Light, Sound, light_of

Millimetres = Annotated[float, msgspec.Meta(ge=0, le=5000)]
Size = Annotated[float, msgspec.Meta(gt=0, le=5000)]
Seconds = Annotated[float, msgspec.Meta(gt=0, le=60)]
Label = Annotated[str, msgspec.Meta(min_length=1, max_length=24)]
Sure = Literal["sure", "likely", "unsure"]
SheetText = Annotated[str, msgspec.Meta(min_length=1, max_length=40)]
Article = Annotated[str, msgspec.Meta(min_length=1, max_length=40)]
Page = Annotated[str, msgspec.Meta(max_length=60)]
Note = Annotated[str, msgspec.Meta(max_length=200)]
SheetFrom = Literal["seen", "plate", "sheet", "hearsay"]
"""Own observation, the type plate, a service sheet, told by others."""
Side = Literal["above", "below", "left", "right"]

Paint = Literal["body", "plate", "fascia", "glass", "line", "hair"]
"""What a shape is made of; the drawing gives each its colours, light and dark."""


class Record(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Base of every record: unknown keys are refused."""


class PanelSource(Record, frozen=True, kw_only=True):
    """Where the panel's facts come from; ``invented`` is for models that do not exist."""

    kind: Literal["published", "seen", "hearsay", "from-memory", "common-practice", "invented"]
    text: str


class Plate(Record, frozen=True, kw_only=True):
    """What the type plate settles: variants of the family, dry load [kg]."""

    variants: dict[str, str] = {}
    load_kg: Size | None = None


class Front(Record, frozen=True, kw_only=True):
    """The part of the machine's front that is drawn [mm]."""

    width: Size
    height: Size
    corner: Millimetres = 0.0


class Box(Record, frozen=True, kw_only=True, tag_field="draw", tag="box"):
    """A rectangle with round corners; x and y are its top left."""

    x: Millimetres
    y: Millimetres
    width: Size
    height: Size
    paint: Paint
    corner: Millimetres = 0.0


class Disc(Record, frozen=True, kw_only=True, tag_field="draw", tag="disc"):
    """A full circle about x and y."""

    x: Millimetres
    y: Millimetres
    radius: Size
    paint: Paint


class Dome(Record, frozen=True, kw_only=True, tag_field="draw", tag="dome"):
    """The upper part of an ellipse standing on a level line at y, such as a door cut off."""

    x: Millimetres
    y: Millimetres
    radius_x: Size
    radius_y: Size
    paint: Paint


class Stroke(Record, frozen=True, kw_only=True, tag_field="draw", tag="stroke"):
    """A line through two points or more."""

    points: Annotated[list[tuple[Millimetres, Millimetres]], msgspec.Meta(min_length=2)]
    paint: Literal["line", "hair"] = "hair"


class Lettering(Record, frozen=True, kw_only=True, tag_field="draw", tag="lettering"):
    """Words on the front, written from x rightwards on a base line at y."""

    x: Millimetres
    y: Millimetres
    text: Label
    size: Size
    over: Literal["plate", "fascia"] = "plate"


class Dial(Record, frozen=True, kw_only=True, tag_field="draw", tag="dial"):
    """A round knob with a pointer and marks around it."""

    x: Millimetres
    y: Millimetres
    radius: Size
    pointer: float = 0.0
    marks: Annotated[int, msgspec.Meta(ge=0, le=36)] = 0


class Button(Record, frozen=True, kw_only=True, tag_field="draw", tag="button"):
    """A push button, round-ended, with its label below."""

    x: Millimetres
    y: Millimetres
    width: Size
    height: Size
    label: Label | None = None


class Display(Record, frozen=True, kw_only=True, tag_field="draw", tag="display"):
    """A window for figures, drawn dark: indications here are told by lamps and sound."""

    x: Millimetres
    y: Millimetres
    width: Size
    height: Size


Shape = Box | Disc | Dome | Stroke | Lettering | Dial | Button | Display


class Drawing(Record, frozen=True, kw_only=True):
    """The front and its shapes, painted in the order written."""

    front: Front
    shapes: list[Shape]


class Lamp(Record, frozen=True, kw_only=True):
    """One lamp: where it sits, how it looks, and the label printed beside it."""

    label: Label
    x: Millimetres
    y: Millimetres
    size: Size
    shape: Literal["round", "square", "bar"] = "round"
    colour: Literal["amber"] = "amber"
    label_at: Side = "below"


class Indication(Record, frozen=True, kw_only=True):
    """One thing that the controller can show, and the conditions that it means.

    Lamps not named are off. ``period_s`` is the time from one lighting to the next,
    ``gap_s`` the dark time after a count. ``sure`` says how sure the meaning is,
    ``display`` what stands on the display meanwhile.
    """

    conditions: list[str]
    lamps: dict[str, str]
    sound: Sound
    note: str
    source: str
    period_s: Seconds | None = None
    gap_s: Seconds | None = None
    display: Label | None = None
    sure: Sure = "sure"

    def light(self, lamp: str) -> Light:
        """What ``lamp`` does in this indication."""
        return light_of(self.lamps.get(lamp, "off")) or OFF


class SheetValue(Record, frozen=True, kw_only=True):
    """One value of the model's own sheet, with its unit, and where it is known from.

    ``tolerance`` is how far good ones may lie from it, a share ("5 %") or in its unit;
    ``page`` says which sheet and page, or who and when.
    """

    value: SheetText
    known_from: SheetFrom
    page: Page = ""
    tolerance: SheetText | None = None
    note: Note = ""


class Fit(Record, frozen=True, kw_only=True):
    """One of the shop's articles that fits the model, for serial numbers from ... to.

    ``part`` is a part kind of the pack; ``superseded_by`` is the article to take instead.
    """

    part: Article
    article: Article
    known_from: SheetFrom
    serial_from: Article | None = None
    serial_to: Article | None = None
    superseded_by: Article | None = None
    page: Page = ""
    note: Note = ""


class Panel(Record, frozen=True, kw_only=True):
    """The front of one model: lamps with places and labels, and its indications.

    ``machine`` and ``controller`` are where the model differs from its family: the
    name of a parameter or limit (:mod:`tubside.pack.parameters`) and its value with unit.
    ``sheet`` holds what its type plate and service sheet say (:mod:`tubside.panel.sheet_names`),
    ``fits`` which articles fit.
    """

    model: str
    name: Label
    family: str
    about: str
    plate: Plate
    sources: dict[str, PanelSource]
    drawing: Drawing
    lamps: dict[str, Lamp]
    sounds: dict[Literal["notes", "pulses", "steady tone"], str]
    indications: dict[str, Indication]
    machine: dict[str, str] = {}
    controller: dict[str, str] = {}
    sheet: dict[str, SheetValue] = {}
    fits: Annotated[list[Fit], msgspec.Meta(max_length=200)] = []

    def lights(self, indication: str) -> dict[str, Light]:
        """Lamp id -> what it does in ``indication``, in the model's own order."""
        shown = self.indications[indication]
        return {lamp: shown.light(lamp) for lamp in self.lamps}

    @property
    def counts(self) -> bool:
        """Whether any indication is a counted blink, so that people are asked to count."""
        return any(
            light.kind == "blinks"
            for indication in self.indications
            for light in self.lights(indication).values()
        )
