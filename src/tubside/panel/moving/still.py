"""Stills of an indication for paper: lamps circled, their states in words, nothing moving."""

from __future__ import annotations

from io import BytesIO

from tubside.panel.drawing import Drawn, drawn_svg
from tubside.panel.moving.loop import loop_of
from tubside.panel.moving.pictures import Wish, told
from tubside.panel.moving.raster import FACE, Pixels, pixels_of
from tubside.panel.palette import paper_rules, standalone_rules
from tubside.panel.schema import Panel
from tubside.panel.wording import in_short


def still_svg(panel: Panel, indication: str, wish: Wish) -> str:
    """The still as a drawing."""
    return drawn_svg(panel, indication, _still(wish, paper_rules()))


def still_png(panel: Panel, indication: str, wish: Wish) -> bytes:
    """The still as pixels; its texts tell what it shows and the true rate.

    Raises
    ------
    DocumentError
        When a package for pixels is missing.
    """
    pixels = pixels_of(drawn_svg(panel, indication, _still(wish, paper_rules(FACE))), wish.width)
    title = f"{panel.name}: {in_short(panel, panel.lights(indication))}"
    return png_of(pixels, title, told(loop_of(panel, indication, wish.speed)))


def moving_svg(panel: Panel, indication: str, wish: Wish) -> str:
    """The drawing that blinks by itself, light or dark as its reader's screen is."""
    drawn = Drawn(
        words=wish.words,
        photo=wish.photo,
        rules=standalone_rules(),
        speed=wish.speed,
        width=wish.width,
    )
    return drawn_svg(panel, indication, drawn)


def png_of(pixels: Pixels, title: str, about: str) -> bytes:
    """Pixels as a PNG with a title and a description (PNG, 3rd edition, 11.3.3.2)."""
    from PIL import Image  # noqa: PLC0415  # of the extra "app", which drew the pixels
    from PIL.PngImagePlugin import PngInfo  # noqa: PLC0415

    texts = PngInfo()
    texts.add_itxt("Title", title)
    texts.add_itxt("Description", about)
    out = BytesIO()
    Image.fromarray(pixels).save(out, "PNG", optimize=True, pnginfo=texts)
    return out.getvalue()


def _still(wish: Wish, rules: str) -> Drawn:
    return Drawn(
        still=True,
        words=wish.words,
        circles=True,
        photo=wish.photo,
        rules=rules,
        speed=wish.speed,
        width=wish.width,
    )
