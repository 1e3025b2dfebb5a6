"""One indication, or all of a model, as a file of the kind that is wished."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal, get_args

from tubside.errors import ModelError, UnknownNameError
from tubside.pack.schema import Pack
from tubside.panel.lights import Sound
from tubside.panel.moving.gif import gif_of
from tubside.panel.moving.mp4 import AT_LEAST_S, mp4_of, need_clip_maker
from tubside.panel.moving.overview import HELD, Layout, overview_pages
from tubside.panel.moving.pictures import LARGEST, SMALLEST, Wish, pictures_of
from tubside.panel.moving.raster import FACE, pdf_of, pixels_of
from tubside.panel.moving.still import moving_svg, png_of, still_png, still_svg
from tubside.panel.palette import paper_rules
from tubside.panel.schema import Panel
from tubside.panel.wording import in_short
from tubside.service.knowledge import Knowledge

Kind = Literal["svg", "gif", "mp4", "png", "pdf"]
KINDS: tuple[Kind, ...] = get_args(Kind)
CONTENT_TYPES: Mapping[Kind, str] = {
    "svg": "image/svg+xml",
    "gif": "image/gif",
    "mp4": "video/mp4",
    "png": "image/png",
    "pdf": "application/pdf",
}
Paper = Literal["a4", "us-letter"]
PAPER_SHAPES: Mapping[Paper, float] = {"a4": 273 / 186, "us-letter": 255.4 / 191.9}
"""Height over width of a page within its margins of 12 mm (ISO 216; ANSI/ASME Y14.1)."""
LONGEST_CLIP_S = 120.0
AS_USUAL = Wish()


@dataclass(frozen=True, slots=True)
class Asked:
    """What file is asked for; ``photo`` is the shop's straightened photo to draw on."""

    kind: Kind
    wish: Wish = AS_USUAL
    still: bool = False
    silent: bool = False
    at_least_s: float = AT_LEAST_S
    photo: bytes | None = None
    paper: Paper = "a4"


def shown(panel: Panel, indication: str, asked: Asked) -> bytes:
    """One indication as a file.

    Raises
    ------
    UnknownNameError
        When the panel has no such indication, or there is no such kind of file of one.
    DocumentError, RecordingError
        When a package that it takes is missing, saying which.
    """
    wish = wished(asked)
    match asked.kind:
        case "svg" if not asked.still:
            return moving_svg(panel, indication, wish).encode()
        case "svg":
            return still_svg(panel, indication, wish).encode()
        case "png":
            return still_png(panel, indication, wish)
        case "gif":
            return gif_of(pictures_of(panel, indication, wish))
        case "mp4":
            need_clip_maker()
            sound = "none" if asked.silent else sound_of(panel, indication)
            return mp4_of(pictures_of(panel, indication, wish), sound, asked.at_least_s)
        case "pdf":
            drawn = still_svg(panel, indication, wish).replace(paper_rules(), paper_rules(FACE))
            return pdf_of([drawn], asked.paper, f"{panel.name}: {indication}")


def overview(panel: Panel, pack: Pack, asked: Asked) -> bytes:
    """All that a model shows, as one picture or page.

    Raises
    ------
    UnknownNameError
        When an overview of that kind is none: it is a still.
    DocumentError
        When a package that it takes is missing, saying which.
    """
    if asked.kind in {"gif", "mp4"}:
        msg = f"an overview of all indications is a still, not {asked.kind}; take svg, png or pdf"
        raise UnknownNameError(msg)
    captions = {name: caption(panel, pack, name) for name in panel.indications}
    layout = Layout(photo=wished(asked).photo)
    title = f"{panel.name}: all that it shows"
    if asked.kind == "pdf":
        paged = replace(layout, shape=PAPER_SHAPES[asked.paper])
        return pdf_of(overview_pages(panel, captions, paged, paper_rules(FACE)), asked.paper, title)
    if asked.kind == "svg":
        return overview_pages(panel, captions, layout)[0].encode()
    (whole,) = overview_pages(panel, captions, layout, paper_rules(FACE))
    return png_of(pixels_of(whole, asked.wish.width), title, panel.about)


def wished(asked: Asked) -> Wish:
    """The wish within what can be, its photo as an address inside the drawing.

    Raises
    ------
    ModelError
        When the picture would be too small, too large, too slow or too fast.
    """
    wish = asked.wish
    if not SMALLEST <= wish.width <= LARGEST:
        msg = f"a picture is {SMALLEST} to {LARGEST} pixels wide, not {wish.width}"
        raise ModelError(msg)
    if not 0.1 <= wish.speed <= 10:
        msg = f"the speed is 0.1 to 10 times that of life, not {wish.speed:g}"
        raise ModelError(msg)
    if not 1 <= asked.at_least_s <= LONGEST_CLIP_S:
        msg = f"a clip lasts 1 to {LONGEST_CLIP_S:.0f} seconds, not {asked.at_least_s:g}"
        raise ModelError(msg)
    if asked.photo is None:
        return wish
    return replace(wish, photo="data:image/jpeg;base64," + b64encode(asked.photo).decode())


def sound_of(panel: Panel, indication: str) -> Sound:
    """What an indication sounds like; none where the panel tells of no sound."""
    found = panel.indications.get(indication)
    return found.sound if found is not None and panel.sounds else "none"


def meaning(panel: Panel, pack: Pack, name: str) -> str:
    """What an indication means, in the words of the pack."""
    means = panel.indications[name].conditions
    return " or ".join(pack.conditions[condition].title for condition in means) or "no trouble"


def caption(panel: Panel, pack: Pack, name: str) -> list[str]:
    """What stands under an indication in an overview: its meaning, then what the lamps do."""
    shown_there = panel.indications[name]
    display = f"display {shown_there.display}" if shown_there.display else ""
    looks = in_short(panel, panel.lights(name))
    looks = ", ".join(one.replace(" ", HELD) for one in looks.split(", "))
    return [meaning(panel, pack, name), ", ".join(filter(None, [looks, display]))]


def indication_named(known: Knowledge, name: str) -> str:
    """The indication of that id, or the one that means the condition of that id.

    Raises
    ------
    UnknownNameError
        When there is none.
    """
    panel = known.panel
    assert panel is not None
    if name in panel.indications:
        return name
    means = name.replace("-", "_")
    for indication, told in panel.indications.items():
        if means in told.conditions:
            return indication
    listed = "\n".join(
        f"  {one:<28} {meaning(panel, known.pack, one)}" for one in panel.indications
    )
    msg = f"the {panel.name} has no indication '{name}'; it has\n{listed}"
    raise UnknownNameError(msg)


def photo_of(model: str, folder: Path | None) -> bytes:
    """The shop's straightened photo of a model.

    Raises
    ------
    ModelError
        When there is none.
    """
    file = None if folder is None else folder / f"{model}.jpg"
    if file is None or not file.is_file():
        msg = f"there is no photo of the model '{model}'; leave --photo out for its drawing"
        raise ModelError(msg)
    return file.read_bytes()
