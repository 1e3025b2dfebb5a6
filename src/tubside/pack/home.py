"""Where the packs that come with the program live."""

from __future__ import annotations

from pathlib import Path

from tubside.errors import UnknownNameError
from tubside.strict_yaml import or_one_of

PACKAGE = Path(__file__).resolve().parent.parent


def packs_folder() -> Path:
    """Return the folder of shipped packs: inside the installed wheel, or beside ``src``."""
    installed = PACKAGE / "_packs"
    return installed if installed.is_dir() else PACKAGE.parent.parent / "packs"


def families(packs: Path | None = None) -> list[str]:
    """Return the families for which there is a pack, sorted; ``packs`` overrides the folder."""
    root = packs or packs_folder()
    return sorted({path.parent.name for path in root.glob("*/*.yaml")})


def pack_folder(family: str, packs: Path | None = None) -> Path:
    """Return the folder of one family's pack; an unknown family raises UnknownNameError."""
    known = families(packs)
    if family not in known:
        msg = f"there is no pack for the family '{family}'; {or_one_of(family, known)}"
        raise UnknownNameError(msg)
    return (packs or packs_folder()) / family
