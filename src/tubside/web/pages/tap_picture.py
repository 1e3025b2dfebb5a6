"""The first picture of a clip, to be tapped on: closer where the panel is small, with marks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING

from tubside.errors import FactError

if TYPE_CHECKING:
    from PIL import ImageDraw

SHOWN = 264
"""Width on the page [CSS pixels]; a tap without a script comes in these."""
SHARPER = 3
CLOSE = 0.4
"""Share of the picture's sides that is shown when it is looked at closely."""
DARK, LIGHT = (16, 24, 32), (255, 255, 255)

Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Window:
    """The part of a picture that is shown, in shares of its sides."""

    left: float = 0.0
    top: float = 0.0
    share: float = 1.0

    @classmethod
    def around(cls, middle: Place) -> Window:
        """The closer part around a place, kept within the picture.

        >>> Window.around((0.5, 0.9)).top
        0.6
        """
        left, top = (min(max(one - CLOSE / 2, 0.0), 1.0 - CLOSE) for one in middle)
        return cls(left, top, CLOSE)

    def outward(self, at: Place) -> Place:
        """A place of the whole picture from one of this part, both in shares."""
        return self.left + self.share * at[0], self.top + self.share * at[1]

    def inward(self, at: Place) -> Place:
        """A place of this part from one of the whole picture, both in shares."""
        return (at[0] - self.left) / self.share, (at[1] - self.top) / self.share


def typed(text: str) -> float:
    """A place or a length as typed, with a point or a comma.

    Raises
    ------
    FactError
        When it is no number, below nought or beyond any picture.

    Examples
    --------
    >>> typed("36,5")
    36.5
    """
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = -1.0
    if not 0 <= value < 10_000:
        msg = f"'{text[:20]}' is no number that can be; write digits"
        raise FactError(msg)
    return value


def height_of(width: int, height: int) -> float:
    """How high the picture is on the page [CSS pixels]."""
    return SHOWN * height / width


def marked(content: bytes, window: Window, places: Mapping[str, Place]) -> bytes:
    """The part of a picture as JPEG, a ring around each place with its lamp's label."""
    from PIL import Image, ImageDraw  # noqa: PLC0415  # a start stays fast

    with Image.open(BytesIO(content)) as found:
        picture = found.convert("RGB")
    width, height = picture.size
    box = (
        round(window.left * width),
        round(window.top * height),
        round((window.left + window.share) * width),
        round((window.top + window.share) * height),
    )
    wide = SHOWN * SHARPER
    high = round(height_of(width, height) * SHARPER)
    shown = picture.crop(box).resize((wide, high), Image.Resampling.LANCZOS)
    pen = ImageDraw.Draw(shown)
    for label, at in places.items():
        x, y = window.inward(at)
        _ring(pen, x * wide, y * high, label)
    out = BytesIO()
    shown.save(out, "JPEG", quality=85)
    return out.getvalue()


def _ring(pen: ImageDraw.ImageDraw, x: float, y: float, label: str) -> None:
    """A ring and a label that stand out from dark and bright alike."""
    for reach, width, colour in ((17, 7, DARK), (15, 3, LIGHT)):
        pen.ellipse((x - reach, y - reach, x + reach, y + reach), outline=colour, width=width)
    pen.text((x + 22, y - 16), label, fill=LIGHT, font_size=26, stroke_width=4, stroke_fill=DARK)
