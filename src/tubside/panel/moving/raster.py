"""A drawing as pixels, by the typesetter that the papers use as well.

The letters are those of one face that comes with the picture library, so that pictures
are alike on every computer; scripts it lacks are looked for in this computer's faces.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from importlib.util import find_spec
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Lock
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from tubside.errors import DocumentError

if TYPE_CHECKING:
    from typst import Compiler

Pixels = NDArray[np.uint8]
FACE = "Aileron"
_FACES = TemporaryDirectory(prefix="faces-")
"""Read when letters are drawn, so it stays as long as the program runs."""
_ONE_AT_A_TIME = Lock()


def need_typesetter() -> None:
    """Refuse to go on without the packages that make pixels and pages.

    Raises
    ------
    DocumentError
        Saying what to install.
    """
    if find_spec("typst") is None or find_spec("PIL") is None:
        msg = "pictures need more packages; install them with: pip install 'tubside[app]'"
        raise DocumentError(msg)


def pixels_of(svg: str, width: int) -> Pixels:
    """The drawing, ``width`` pixels across, shape (rows, columns, 3), on white.

    Raises
    ------
    DocumentError
        When a package is missing or the drawing cannot be drawn.
    """
    from PIL import Image  # noqa: PLC0415  # of the extra "app", after the check for it

    page = "#set page(width: auto, height: auto, margin: 0pt, fill: white)\n"
    made = _compiled(f'{page}#image("drawn.svg", width: {width}pt)', svg, "png")
    with Image.open(BytesIO(made)) as opened:
        return np.asarray(opened.convert("RGB"), np.uint8)


def pdf_of(svgs: list[str], paper: str, title: str) -> bytes:
    """Drawings as a PDF, one to a page, as large as the page allows."""
    pages = "\n#pagebreak()\n".join(
        f'#align(center + top, image("drawn-{n}.svg", width: 100%, height: 100%, fit: "contain"))'
        for n in range(len(svgs))
    )
    quoted = title.replace("\\", "").replace('"', "'")
    head = f'#set document(title: "{quoted}", date: none)\n#set page("{paper}", margin: 12mm)\n'
    return _compiled(head + pages, svgs, "pdf")


def _compiled(main: str, drawn: str | list[str], kind: str) -> bytes:
    need_typesetter()
    files = {"main.typ": main.encode()}
    if isinstance(drawn, str):
        files["drawn.svg"] = drawn.encode()
    else:
        files |= {f"drawn-{n}.svg": svg.encode() for n, svg in enumerate(drawn)}
    with _ONE_AT_A_TIME:
        compile_: Callable[..., object] = _compiler().compile  # its types leave out files
        try:
            made = compile_(files, format=kind, ppi=72.0)
        except RuntimeError as error:
            msg = f"this panel cannot be drawn: {error}; look at its file and its photo"
            raise DocumentError(msg) from error
    assert isinstance(made, bytes), "it is one page, or a PDF of many"
    return made


@cache
def _compiler() -> Compiler:
    """A compiler that keeps its faces from picture to picture."""
    from PIL import ImageFont  # noqa: PLC0415  # of the extra "app"
    from typst import Compiler  # noqa: PLC0415  # of the extra "app", and slow to load

    content = getattr(ImageFont.load_default(16), "font_bytes", b"")
    Path(_FACES.name, "face.otf").write_bytes(content)
    return Compiler(font_paths=[_FACES.name])
