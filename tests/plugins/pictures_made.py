"""Small pictures for tests, with or without what a camera writes beside them."""

from __future__ import annotations

from io import BytesIO

from PIL import Image


def picture(form: str = "PNG", colour: tuple[int, int, int] = (40, 90, 120)) -> bytes:
    """Return a small picture of one colour."""
    out = BytesIO()
    Image.new("RGB", (12, 9), colour).save(out, form)
    return out.getvalue()


def picture_with_place() -> bytes:
    """Return a JPEG that says where and with which camera it was taken."""
    exif = Image.Exif()
    exif[0x0110] = "SECRET camera"
    exif.get_ifd(0x8825)[1] = "S"
    out = BytesIO()
    Image.new("RGB", (12, 9)).save(out, "JPEG", exif=exif, comment=b"SECRET comment")
    return out.getvalue()
