"""One model as a single file: a .zip of ``model.yaml`` and, if there is one, ``photo.jpg``.

What comes in may be malformed or meant to harm, so nothing is unpacked to a disk:
the two known names are read from memory up to a size, and anything else is refused.
"""

from __future__ import annotations

import stat
import zlib
from dataclasses import dataclass
from io import BytesIO
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from tubside.errors import ArchiveError
from tubside.panel.schema import Panel
from tubside.panel.writing import panel_text

TEXT, PHOTO = "model.yaml", "photo.jpg"
MOST = {TEXT: 256 * 1024, PHOTO: 3 * 1024 * 1024}
"""The known names and how large each may be when unpacked [bytes]."""
LARGEST = 4 * 1024 * 1024
"""How large an archive may be [bytes]."""
START, JPEG = b"PK\x03\x04", b"\xff\xd8\xff"
FIRST_DAY = (1980, 1, 1, 0, 0, 0)
"""The earliest date of the format, for all: equal models give equal archives."""
ENCRYPTED = 0x1


@dataclass(frozen=True, slots=True)
class Unpacked:
    """The panel file as text, not yet checked, and the photo's bytes."""

    text: str
    photo: bytes | None = None


def packed(panel: Panel, photo: bytes | None = None) -> bytes:
    """The archive of a model, the same bytes for the same model and photo."""
    out = BytesIO()
    with ZipFile(out, "w") as archive:
        _add(archive, TEXT, panel_text(panel).encode(), ZIP_DEFLATED)
        if photo is not None:
            _add(archive, PHOTO, photo, ZIP_STORED)
    return out.getvalue()


def unpacked(content: bytes) -> Unpacked:
    """What an archive holds; nothing is written anywhere.

    Raises
    ------
    ArchiveError
        When it is too large, no .zip, damaged or locked, or holds a link, a folder,
        another name, the same name twice or more than its directory says.
    """
    if len(content) > LARGEST:
        msg = f"the archive has {len(content) / 2**20:.1f} MiB; a model has 4 at most"
        raise ArchiveError(msg)
    if not content.startswith(START):
        msg = "this is no model archive; choose a .zip file that Tubside exported"
        raise ArchiveError(msg)
    try:
        with ZipFile(BytesIO(content)) as archive:
            found = _entries(archive)
    except (BadZipFile, EOFError, OverflowError, ValueError, zlib.error) as wrong:
        msg = f"the archive is damaged ({wrong}); export the model again"
        raise ArchiveError(msg) from None
    except (RuntimeError, OSError, UnicodeError) as wrong:
        msg = f"the archive cannot be read ({wrong}); export the model again"
        raise ArchiveError(msg) from None
    return _whole(found)


def _entries(archive: ZipFile) -> dict[str, bytes]:
    listed = archive.infolist()
    names = [entry.filename for entry in listed]
    if strange := [name for name in names if name not in MOST]:
        msg = f"the archive holds {strange[0]!a:.60}; a model has {TEXT} and {PHOTO} only"
        raise ArchiveError(msg)
    if len(set(names)) < len(names):
        msg = "the archive holds the same name twice; export the model again"
        raise ArchiveError(msg)
    for entry in listed:
        _need_plain(entry)
    return {entry.filename: _content(archive, entry) for entry in listed}


def _need_plain(entry: ZipInfo) -> None:
    """Refuse what is no ordinary file, is locked, or says it is too large."""
    mode = entry.external_attr >> 16
    kind = stat.S_IFMT(mode)
    if kind not in (0, stat.S_IFREG):
        msg = f"{entry.filename} is no plain file but a link or the like; it is not taken"
        raise ArchiveError(msg)
    if entry.flag_bits & ENCRYPTED:
        msg = f"{entry.filename} is locked with a password; export the model again"
        raise ArchiveError(msg)
    if entry.compress_type not in (ZIP_STORED, ZIP_DEFLATED):
        msg = f"{entry.filename} is packed in an unknown way; export the model again"
        raise ArchiveError(msg)
    _need_size(entry.filename, entry.file_size)


def _content(archive: ZipFile, entry: ZipInfo) -> bytes:
    """One entry, read no further than it may be: what a directory says is not believed."""
    with archive.open(entry) as opened:
        content = opened.read(MOST[entry.filename] + 1)
    _need_size(entry.filename, len(content))
    return content


def _need_size(name: str, size: int) -> None:
    if size > MOST[name]:
        msg = f"{name} unpacks to more than {MOST[name] // 1024} KiB; it is not taken"
        raise ArchiveError(msg)


def _whole(found: dict[str, bytes]) -> Unpacked:
    if TEXT not in found:
        msg = f"the archive lacks {TEXT}; export the model again"
        raise ArchiveError(msg)
    try:
        text = found[TEXT].decode("utf-8-sig")
    except UnicodeDecodeError:
        msg = f"{TEXT} is not UTF-8; save it so and pack it again"
        raise ArchiveError(msg) from None
    photo = found.get(PHOTO)
    if photo is not None and not photo.startswith(JPEG):
        msg = f"{PHOTO} is no JPEG picture; leave it out, or export the model again"
        raise ArchiveError(msg)
    return Unpacked(text, photo)


def _add(archive: ZipFile, name: str, content: bytes, how: int) -> None:
    entry = ZipInfo(name, FIRST_DAY)
    entry.compress_type = how
    entry.create_system = 3
    entry.external_attr = (stat.S_IFREG | 0o644) << 16
    archive.writestr(entry, content)
