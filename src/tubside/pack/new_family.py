"""Begin the pack of a family that nobody has written yet."""

from __future__ import annotations

import re
from importlib.resources import files
from pathlib import Path

from tubside.errors import NewFamilyError

FAMILY_ID = re.compile(r"[a-z][a-z0-9]*(_[a-z0-9]+)*\Z")
LONGEST_ID = 40
SOURCES = """\
# Where the numbers of {family} come from

One line for each number that you looked up: what, from where (author, year, page), and how it
was turned into the pack's number. What nobody has measured is marked as common practice.
"""


def skeleton() -> dict[str, str]:
    """File name -> text of the pack that a new family begins with, the family's id left open."""
    folder = files("tubside.pack.skeleton")
    return {
        each.name: each.read_text(encoding="utf-8")
        for each in sorted(folder.iterdir(), key=lambda each: each.name)
        if each.name.endswith(".yaml")
    }


def begin_family(family: str, into: Path) -> Path:
    """Write the folder of a new family; its path. What is there already is never touched.

    Raises
    ------
    NewFamilyError
        When ``family`` is no id, the folder is there already, or it cannot be written.
    """
    if not FAMILY_ID.match(family) or len(family) > LONGEST_ID:
        msg = (
            f"{family!a:.60} is no id of a family; write small letters, digits and "
            f"underscores, at most {LONGEST_ID}, such as drying_cabinet"
        )
        raise NewFamilyError(msg)
    folder = into / family
    try:
        into.mkdir(parents=True, exist_ok=True)
        folder.mkdir()
        (folder / "models").mkdir()
        for name, text in skeleton().items():
            (folder / name).write_text(filled(text, family), encoding="utf-8")
        (folder / "SOURCES.md").write_text(SOURCES.format(family=family), encoding="utf-8")
    except FileExistsError:
        msg = f"{folder} is there already; nothing was written. Name another family or folder"
        raise NewFamilyError(msg) from None
    except OSError as wrong:
        msg = f"{folder} cannot be written: {wrong.strerror or wrong}; choose another folder"
        raise NewFamilyError(msg) from None
    return folder


def filled(text: str, family: str) -> str:
    """A file of the skeleton for one family."""
    title = family.replace("_", " ").capitalize()
    return text.replace("family: FAMILY", f"family: {family}").replace(
        "title: TITLE", f"title: {title}"
    )
