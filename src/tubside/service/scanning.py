"""A barcode read from a photo, for browsers that read none themselves.

The photo is opened as the photos of panels are: only known kinds of picture, of a bounded
size, and nothing of it is kept.
"""

from __future__ import annotations

from importlib.util import find_spec
from io import BytesIO

import numpy as np

from tubside.errors import ScanError

LARGEST = 12_000_000
"""Bytes."""
MOST_PIXELS = 50_000_000
LONGEST = 2000
"""Pixels along the longer side that are searched."""
LONGEST_TEXT = 80


def can_scan() -> bool:
    """Whether the reader of barcodes is installed."""
    return find_spec("zxingcpp") is not None


def scanned(content: bytes) -> str:
    """The text of the barcode in a photo; of several the one that stands highest.

    Raises
    ------
    ScanError
        When the reader is not installed, the photo is not one that can be opened, or no
        barcode with plain text is found in it.
    """
    if not can_scan():
        msg = (
            "photos of barcodes need one more package: pip install 'tubside[camera]'; "
            "or type the number under the bars"
        )
        raise ScanError(msg)
    import zxingcpp  # noqa: PLC0415  # only here

    found = [code for code in zxingcpp.read_barcodes(_grey(content)) if _plain(code.text)]
    if not found:
        msg = "no barcode is found in this photo; hold it closer and straight, or type the number"
        raise ScanError(msg)
    highest = min(found, key=lambda code: (code.position.top_left.y, code.position.top_left.x))
    return str(highest.text).strip()


def _plain(text: str) -> bool:
    return 0 < len(text.strip()) <= LONGEST_TEXT and text.isprintable()


def _grey(content: bytes) -> np.ndarray:
    """The photo in grey (rows, columns), upright and not too large."""
    from PIL import Image, ImageOps  # noqa: PLC0415  # only here

    if len(content) > LARGEST:
        msg = "the photo has more than 12 million bytes; send a smaller one"
        raise ScanError(msg)
    try:
        with Image.open(BytesIO(content), formats=["JPEG", "PNG", "WEBP"]) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                msg = "the photo has more than 50 million pixels; send a smaller one"
                raise ScanError(msg)
            opened.draft("L", (LONGEST, LONGEST))
            grey = ImageOps.exif_transpose(opened).convert("L")
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as wrong:
        msg = "this is no JPEG, PNG or WebP picture that can be read; take it again"
        raise ScanError(msg) from wrong
    grey.thumbnail((LONGEST, LONGEST))
    return np.asarray(grey, np.uint8)
