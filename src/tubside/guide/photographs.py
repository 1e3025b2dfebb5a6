"""The shop's photo of a model, made small enough for a page and bare of where it was taken."""

from __future__ import annotations

from functools import lru_cache
from io import BytesIO
from pathlib import Path

from tubside.errors import GuideError, PhotoError
from tubside.service.panel_photo import shrunk

ACROSS = 480
"""Pixels across a photo on a page."""
LARGEST = 24_000
"""Bytes of a photo: an answer's page holds it twice, moving and still, within its 150 kB."""
QUALITIES = (72, 60, 48, 36, 24)
"""JPEG qualities tried, best first."""
SMALLER = 0.8


def page_photo(folder: Path | None, model: str) -> bytes | None:
    """The photo of a model as a small JPEG of its pixels alone; None where there is none.

    What a camera writes beside a picture (place, time, maker) is not in it, also where the
    file was put into the folder by hand.

    Raises
    ------
    GuideError
        When the file there is no picture.
    """
    file = None if folder is None else folder / f"{model}.jpg"
    if file is None or not file.is_file():
        return None
    try:
        return _kept(file, file.stat().st_mtime_ns)
    except PhotoError as wrong:
        msg = f"the photo of the model '{model}' cannot be used: {wrong}"
        raise GuideError(msg) from wrong


@lru_cache(maxsize=64)
def _kept(file: Path, _changed: int) -> bytes:
    """The small photo of a file, made once as long as the file stands unchanged."""
    return _small(shrunk(file.read_bytes()))


def _small(photo: bytes) -> bytes:
    """The photo at most :data:`ACROSS` pixels wide, in at most :data:`LARGEST` bytes."""
    from PIL import Image  # noqa: PLC0415  # of the extra "app"

    with Image.open(BytesIO(photo), formats=["JPEG"]) as opened:
        picture = opened.convert("RGB")
    across = min(ACROSS, picture.width)
    while True:
        down = max(round(picture.height * across / picture.width), 1)
        sized = picture.resize((across, down))
        for quality in QUALITIES:
            out = BytesIO()
            sized.save(out, "JPEG", quality=quality, optimize=True)
            if out.tell() <= LARGEST:
                return out.getvalue()
        across = max(round(across * SMALLER), 1)
