"""From a sheet's blocks to a PDF that can be kept for years: PDF/A (ISO 19005) by typst.

What people wrote reaches the template only as data in a file beside it, so that no mark in
it can be taken for typesetting. The faces are typst's own and are embedded; letters they
lack are looked for in the faces of this computer, and stand as a box where it has none.
"""

from __future__ import annotations

import json
import threading
from collections.abc import Callable
from dataclasses import asdict
from datetime import UTC, datetime, time
from functools import cache
from importlib import resources
from importlib.util import find_spec
from typing import TYPE_CHECKING, Literal

from tubside.documents.sheet import Block, Photos, Sheet, Square, day
from tubside.errors import DocumentError

if TYPE_CHECKING:
    from typst import Compiler

CONTENT_TYPE = "application/pdf"
BOX = "\N{WHITE SQUARE}"
_ONE_AT_A_TIME = threading.Lock()


def typeset(sheet: Sheet) -> bytes:
    """Return the sheet as PDF/A-3b with its attached file, or as PDF/A-2b without one.

    The same sheet gives the same bytes: its date stands for the time of making.

    Raises
    ------
    DocumentError
        When a photo is none or typst is not installed.
    """
    files = _files(sheet)
    standard: Literal["a-3b", "a-2b"] = "a-3b" if sheet.attached else "a-2b"
    made = datetime.combine(sheet.dated, time(), UTC)
    with _ONE_AT_A_TIME:
        try:
            return _pdf(_compiler(own_faces_only=True), files, standard, made)
        except RuntimeError as error:
            if "could not be displayed" not in str(error):
                raise _told(error) from error
        try:
            return _pdf(_compiler(own_faces_only=False), files, standard, made)
        except RuntimeError as error:
            if "could not be displayed" not in str(error):
                raise _told(error) from error
        files["sheet.json"] = _boxed(files["sheet.json"].decode()).encode()
        try:
            return _pdf(_compiler(own_faces_only=True), files, standard, made)
        except RuntimeError as error:
            raise _told(error) from error


def _told(error: RuntimeError) -> DocumentError:
    """An error of typst in words of ours."""
    return DocumentError(f"this document cannot be typeset: {error}; look at its text and photos")


def _pdf(
    compiler: Compiler,
    files: dict[str, bytes],
    standard: Literal["a-3b", "a-2b"],
    made: datetime,
) -> bytes:
    compile_: Callable[..., object] = compiler.compile  # its types leave out files by name
    made_pdf = compile_(files, format="pdf", pdf_standards=[standard], timestamp=made)
    assert isinstance(made_pdf, bytes)
    return made_pdf


@cache
def _compiler(*, own_faces_only: bool) -> Compiler:
    """A compiler that keeps its faces from document to document."""
    if find_spec("typst") is None:
        msg = "PDFs need the package typst; install it with: pip install 'tubside[app]'"
        raise DocumentError(msg)
    from typst import Compiler  # noqa: PLC0415 - of the extra "app", and slow to load

    return Compiler(ignore_system_fonts=own_faces_only)


@cache
def _template() -> bytes:
    return resources.files("tubside.documents").joinpath("paper.typ").read_bytes()


def _files(sheet: Sheet) -> dict[str, bytes]:
    """The template and all it reads, by name."""
    files = {"main.typ": _template()}
    blocks = [_block(block, files) for block in sheet.blocks]
    attached = None
    if sheet.attached:
        files[sheet.attached.name] = sheet.attached.content
        attached = {
            "name": sheet.attached.name,
            "mime": sheet.attached.mime,
            "words": sheet.attached.words,
        }
    number = f" \N{MIDDLE DOT} {sheet.number}" if sheet.number else ""
    data = {
        "title": sheet.title,
        "number": sheet.number,
        "dated": sheet.shown_date or day(sheet.dated),
        "mark": sheet.mark,
        "paper": "us-letter" if sheet.sender.country in {"US", "CA"} else "a4",
        "page_word": "Page",
        "foot": f"{sheet.sender.name} \N{MIDDLE DOT} {sheet.title}{number}",
        "sender": sheet.sender.name,
        "sender_lines": _sender_lines(sheet),
        "to": sheet.to,
        "particulars": sheet.particulars,
        "blocks": blocks,
        "attached": attached,
    }
    files["sheet.json"] = json.dumps(_clean(data), ensure_ascii=False).encode()
    return files


def _sender_lines(sheet: Sheet) -> list[str]:
    """What stands small under the shop's name."""
    shop = sheet.sender
    dot = " \N{MIDDLE DOT} "
    numbers = (
        f"{shop.tax_number_label} {shop.tax_number}" if shop.tax_number else "",
        f"Licence {shop.licence}" if shop.licence else "",
        f"Company number {shop.registration}" if shop.registration else "",
    )
    lines = (shop.lines()[1:], (shop.telephone, shop.email), numbers)
    return [line for line in (dot.join(filter(None, parts)) for parts in lines) if line]


def _block(block: Block, files: dict[str, bytes]) -> dict[str, object]:
    """A block as data; its pictures are put beside the template."""
    kind = type(block).__name__.lower()
    if isinstance(block, Square):
        name = f"square-{len(files)}.svg"
        files[name] = block.picture
        return {"kind": kind, "head": block.head, "lines": block.lines, "file": name}
    if isinstance(block, Photos):
        photos = []
        for picture, caption in block.photos:
            name = f"photo-{len(files)}.json"  # as numbers: only text can stand beside
            files[name] = json.dumps(list(_checked(picture))).encode()
            photos.append({"file": name, "caption": caption})
        return {"kind": kind, "head": block.head, "photos": photos}
    return {"kind": kind, **asdict(block)}


def _checked(picture: bytes) -> bytes:
    """The picture, if its first bytes are those of a kind that is printed."""
    if picture.startswith((b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n")):
        return picture
    msg = "a photo of a document is neither JPEG nor PNG; take another"
    raise DocumentError(msg)


def _clean(value: object) -> object:
    """The data without signs that steer rather than show: they could hide or turn words."""
    if isinstance(value, str):
        return "".join(sign if _shows(sign) else " " for sign in value)
    if isinstance(value, dict):
        return {key: _clean(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_clean(part) for part in value]
    return value


def _shows(sign: str) -> bool:
    """Whether a sign is no control, half of a pair, or mark that turns the direction."""
    code = ord(sign)
    steers = code < 0x20 and sign != "\n"
    return not (
        steers
        or 0x7F <= code <= 0x9F
        or 0x202A <= code <= 0x202E
        or 0x2066 <= code <= 0x2069
        or 0xD800 <= code <= 0xDFFF
        or code in {0xFFFE, 0xFFFF}
    )


def _boxed(text: str) -> str:
    """The text with a box for each letter outside the scripts that typst's faces hold."""
    return "".join(sign if _held(ord(sign)) else BOX for sign in text)


def _held(code: int) -> bool:
    """Latin, Greek, Cyrillic, punctuation, currencies and arrows."""
    return code < 0x0530 or 0x2010 <= code <= 0x2027 or code in {0x2030, 0x20AC, 0x2126, 0x2212}
