"""One model in one file, and what is refused of files from elsewhere."""

from __future__ import annotations

import struct
from collections.abc import Callable
from io import BytesIO
from zipfile import ZIP_BZIP2, ZIP_DEFLATED, ZipFile, ZipInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from made_panels import panels
from tubside import strict_yaml
from tubside.errors import ArchiveError
from tubside.panel.archive import LARGEST, MOST, packed, unpacked
from tubside.panel.schema import Panel

JPEG = b"\xff\xd8\xff" + bytes(range(200))


def zipped(*entries: tuple[str | ZipInfo, bytes]) -> bytes:
    """An archive of any entries."""
    out = BytesIO()
    with ZipFile(out, "w", ZIP_DEFLATED) as archive:
        for name, content in entries:
            archive.writestr(name, content)
    return out.getvalue()


def link(name: str) -> ZipInfo:
    """An entry that says it is a symbolic link."""
    entry = ZipInfo(name)
    entry.create_system = 3
    entry.external_attr = 0o120777 << 16
    return entry


def lying(size: int) -> bytes:
    """An archive whose directory says that its entry is of ``size`` bytes."""
    content = bytearray(zipped(("model.yaml", b" " * (MOST["model.yaml"] + 10))))
    directory = content.rindex(b"PK\x01\x02")
    content[directory + 24 : directory + 28] = struct.pack("<I", size)
    content[22:26] = struct.pack("<I", size)
    return bytes(content)


def locked() -> bytes:
    """An archive whose entry says that it has a password."""
    content = bytearray(zipped(("model.yaml", b"model: a")))
    content[content.rindex(b"PK\x01\x02") + 8] |= 1
    content[6] |= 1
    return bytes(content)


def far_away(offset: int) -> bytes:
    """An archive whose directory says (in zip64's field) that its entry begins at ``offset``."""
    whole = zipped(("model.yaml", b"model: a"))
    begins, ends = whole.rindex(b"PK\x01\x02"), whole.rindex(b"PK\x05\x06")
    directory, end = bytearray(whole[begins:ends]), bytearray(whole[ends:])
    directory[42:46] = b"\xff" * 4
    extra = struct.pack("<HHQ", 1, 8, offset)
    directory[30:32] = struct.pack("<H", len(extra))
    end[12:16] = struct.pack("<I", len(directory) + len(extra))
    return bytes(whole[:begins] + directory + extra + end)


def in_another_way() -> bytes:
    """An archive packed as no model of ours is."""
    out = BytesIO()
    with ZipFile(out, "w", ZIP_BZIP2) as archive:
        archive.writestr("model.yaml", b"model: a")
    return out.getvalue()


def twice() -> bytes:
    """An archive that holds one name two times."""
    with pytest.warns(UserWarning, match="Duplicate"):
        return zipped(("model.yaml", b"a"), ("model.yaml", b"b"))


@given(panels(), st.none() | st.just(JPEG))
def test_unpacked_is_what_was_packed(panel: Panel, photo: bytes | None) -> None:
    """Tests that a model comes out equal, and that equal models give equal bytes."""
    archive = packed(panel, photo)
    assert archive == packed(panel, photo)
    found = unpacked(archive)
    assert found.photo == photo
    document = strict_yaml.read_text(found.text, "model.yaml")
    assert strict_yaml.convert(document, Panel) == panel


HOSTILE: dict[str, tuple[Callable[[], bytes], str]] = {
    "nothing": (lambda: b"", "no model archive"),
    "no zip": (lambda: b"model: a\n", "no model archive"),
    "cut off": (lambda: zipped(("model.yaml", b"model: a"))[:-30], "damaged"),
    "too large": (lambda: b"PK\x03\x04" + bytes(LARGEST), "4 at most"),
    "a way up": (lambda: zipped(("../model.yaml", b"a")), "only"),
    "a way from the root": (lambda: zipped(("/etc/model.yaml", b"a")), "only"),
    "a folder": (lambda: zipped(("model.yaml/", b"")), "only"),
    "another name": (lambda: zipped(("model.yaml", b"a"), ("run.sh", b"a")), "only"),
    "the same twice": (twice, "twice"),
    "a link": (lambda: zipped((link("model.yaml"), b"/etc/passwd")), "no plain file"),
    "a bomb": (lambda: zipped(("model.yaml", bytes(3_000_000))), "unpacks to more"),
    "a bomb as photo": (lambda: zipped(("photo.jpg", bytes(40_000_000))), "unpacks to more"),
    "a bomb that lies": (lambda: lying(10), "damaged|unpacks"),
    "an entry past all files": (lambda: far_away(2**63), "damaged"),
    "a lock": (locked, "password"),
    "another packing": (in_another_way, "unknown way"),
    "a photo alone": (lambda: zipped(("photo.jpg", JPEG)), "lacks"),
    "no picture": (
        lambda: zipped(("model.yaml", b"a"), ("photo.jpg", b"<svg/>")),
        "no JPEG",
    ),
    "no text": (lambda: zipped(("model.yaml", b"\xff\xfe")), "UTF-8"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_archives_are_refused(name: str) -> None:
    """Tests that each kind of bad archive is refused in words."""
    made, words = HOSTILE[name]
    with pytest.raises(ArchiveError, match=words):
        unpacked(made())


@given(st.data())
def test_damage_never_ends_otherwise(data: st.DataObject) -> None:
    """Tests that a few wrong bytes give the refusal or a text, and no other error."""
    content = bytearray(zipped(("model.yaml", b"model: a\n" * 20), ("photo.jpg", JPEG)))
    for _ in range(data.draw(st.integers(1, 4))):
        content[data.draw(st.integers(0, len(content) - 1))] = data.draw(st.integers(0, 255))
    try:
        found = unpacked(bytes(content))
    except ArchiveError:
        return
    assert found.text
