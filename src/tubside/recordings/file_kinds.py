"""What kind of file a recording is, told by its first bytes and by nothing else.

A name ending is not looked at: a sender chooses it freely. The signatures are those of
the formats' own definitions: ISO/IEC 14496-12:2022 (4.3, boxes of size and type),
RFC 8794 (11.2.1, the EBML header) for Matroska and WebM, the RIFF forms "AVI " and
"WAVE" (with RF64 of EBU Tech 3306), RFC 3533 (6, "OggS"), ISO/IEC 11172-3 (2.4.1.3,
the sync word of a frame) and the "ID3" tag before it for MP3; recalled, not looked up.
"""

from __future__ import annotations

from typing import Literal

from tubside.errors import RecordingError

FileKind = Literal["mp4", "webm", "avi", "wav", "ogg", "mp3", "csv"]
HEAD = 4096
"""Bytes that are looked at."""
CLIPS: frozenset[FileKind] = frozenset({"mp4", "webm", "avi"})
SOUNDS: frozenset[FileKind] = CLIPS | {"wav", "ogg", "mp3"}
LOGS: frozenset[FileKind] = frozenset({"csv"})

_BOXES = frozenset({b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip"})
_STILLS = frozenset({b"heic", b"heix", b"mif1", b"avif", b"hevc", b"msf1"})
_OTHERS: tuple[tuple[bytes, str], ...] = (
    (b"\xff\xd8\xff", "a still photo"),
    (b"\x89PNG", "a still picture"),
    (b"GIF8", "an animated picture"),
    (b"%PDF", "a PDF"),
    (b"PK\x03\x04", "a ZIP archive"),
    (b"PK\x05\x06", "a ZIP archive"),
    (b"7z\xbc\xaf", "an archive"),
    (b"Rar!", "an archive"),
    (b"\x1f\x8b", "a packed file"),
    (b"-----BEGIN PGP", "an encrypted message"),
    (b"Salted__", "an encrypted file"),
    (b"#EXTM3U", "a playlist"),
    (b"ffconcat", "a playlist"),
    (b"[playlist]", "a playlist"),
    (b"<", "a web page or drawing"),
    (b"\x7fELF", "a program"),
    (b"MZ", "a program"),
)


def file_kind(head: bytes) -> FileKind:
    r"""The kind of a recording whose first bytes (up to :data:`HEAD`) are these.

    Raises
    ------
    RecordingError
        Saying what the file is instead, and what to send.

    Examples
    --------
    >>> file_kind(b"RIFF\x24\x08\x00\x00WAVEfmt ")
    'wav'
    >>> file_kind(bytes([0x1A, 0x45, 0xDF, 0xA3]) + bytes(12))
    'webm'
    """
    found = _by_signature(head)
    if found is not None:
        return found
    if _looks_like_numbers(head):
        return "csv"
    raise RecordingError(_refusal(head))


def _by_signature(head: bytes) -> FileKind | None:
    if head[4:8] in _BOXES and head[8:12] not in _STILLS:
        return "mp4"
    if head[:4] == b"\x1a\x45\xdf\xa3":
        return "webm"
    if head[:4] in {b"RIFF", b"RF64"}:
        return {b"AVI ": "avi", b"WAVE": "wav"}.get(head[8:12])  # type: ignore[return-value]  # both are kinds
    if head[:4] == b"OggS":
        return "ogg"
    synced = len(head) > 2 and head[0] == 0xFF and head[1] & 0xE6 == 0xE2 and head[2] & 0xF0 != 0xF0
    return "mp3" if head[:3] == b"ID3" or synced else None


def _looks_like_numbers(head: bytes) -> bool:
    """Text of numbers with something between them: a log of a phone's sensor."""
    try:
        text = head.decode("utf-8-sig") if len(head) < HEAD else head.decode("utf-8-sig", "ignore")
    except UnicodeDecodeError:
        return False
    plain = all(sign.isprintable() or sign in "\r\n\t" for sign in text)
    digits = sum(sign.isdigit() for sign in text)
    apart = any(sign in text for sign in ",;\t ")
    known = any(head.startswith(start) for start, _ in _OTHERS)
    return plain and apart and not known and digits * 4 >= len(text.strip()) > 0


def _refusal(head: bytes) -> str:
    if not head:
        return "the file is empty; send the recording again"
    if head[8:12] in _STILLS:
        what = "a still photo"
    else:
        bare = head.lstrip(b"\xef\xbb\xbf \r\n\t")
        what = next((told for start, told in _OTHERS if bare.startswith(start)), "")
    said = f"this is {what}, not a recording" if what else "this is no recording that can be read"
    return f"{said}; send a clip as MP4, MOV or WebM, a sound as M4A, MP3, OGG or WAV"
