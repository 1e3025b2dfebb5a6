"""Open a recording with only the parts of the decoding library that its kind needs.

Every recording is opened here and nowhere else. The library is handed bytes, never an
address: with no protocol allowed, neither a playlist nor a reference inside a file can
make it open anything more. Only the container that the first bytes name is tried, so a
file that is also something else is read as the one kind; only listed decoders start.
"""

from __future__ import annotations

import stat
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, Literal

from tubside.errors import RecordingError
from tubside.recordings.file_kinds import CLIPS, HEAD, SOUNDS, FileKind, file_kind

if TYPE_CHECKING:
    from av.codec import CodecContext
    from av.container import InputContainer
    from av.stream import Stream

MOST_BYTES = 1 << 30
"""A minute of 4K at 100 Mbit/s is 0.75 GB; phones write 50 to 100 (common practice)."""
MOST_LOG_BYTES = 20 << 20
MOST_SECONDS = {"clip": 90.0, "sound": 900.0}
"""A minute is asked for; a slip of the thumb beyond it is let through."""
MOST_PICTURES = 90 * 240
MOST_PIXELS = 4096 * 2304

CONTAINERS: dict[FileKind, str] = {
    "mp4": "mov",
    "webm": "matroska",
    "avi": "avi",
    "wav": "wav",
    "ogg": "ogg",
    "mp3": "mp3",
}
PICTURE_DECODERS = frozenset({"h264", "hevc", "vp8", "vp9", "mjpeg"})
SOUND_DECODERS = frozenset(
    {"aac", "mp3", "mp3float", "opus", "vorbis", "pcm_s16le", "pcm_s16be", "pcm_s24le"}
    | {"pcm_u8", "pcm_s32le", "pcm_f32le", "amrnb", "amr_nb"}
)
KNOWN_DECODERS = PICTURE_DECODERS | SOUND_DECODERS
DESCRIPTION = 1 << 20
"""Bytes at each end in which a clip's description is looked for."""
LOCKED_TAGS = frozenset({"encv", "enca", "drmi", "drms"})

Need = Literal["pictures", "sound", "either"]

told_share: ContextVar[Callable[[float], None] | None] = ContextVar("told_share", default=None)
"""Told how much of the file has been read, 0 to 1, where somebody listens."""


class _Watched:
    """A file that tells how far it has been read."""

    def __init__(self, file: BinaryIO, size: int) -> None:
        self._file, self._size, self._told = file, size, 0.0

    def read(self, count: int) -> bytes:
        found = self._file.read(count)
        share = self._file.tell() / max(self._size, 1)
        listener = told_share.get()
        if listener is not None and share >= self._told + 0.01:
            self._told = share
            listener(min(share, 1.0))
        return found

    def seek(self, place: int, whence: int = 0) -> int:
        return self._file.seek(place, whence)

    def tell(self) -> int:
        return self._file.tell()


def checked_kind(path: Path, allowed: frozenset[FileKind]) -> FileKind:
    """The kind of a file by its first bytes, refused unless it is among ``allowed``.

    Raises
    ------
    RecordingError
        When it is no plain file, is empty or too large, or is of another kind.
    """
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):
            msg = f"{path.name} is no file with an end; save the recording and name that file"
            raise RecordingError(msg)
        with path.open("rb") as file:
            kind = file_kind(file.read(HEAD))
    except OSError as wrong:
        msg = f"{path.name} cannot be read: {wrong.strerror}; check the name and send it again"
        raise RecordingError(msg) from None
    if kind not in allowed:
        wanted = "a clip" if allowed <= CLIPS else "a sound or a clip"
        wanted = wanted if allowed & SOUNDS else "a shake log (CSV)"
        what = "a table of numbers" if kind == "csv" else f"{kind.upper()} sound"
        what = "a clip" if kind in CLIPS else what
        msg = f"{path.name} is {what}, and {wanted} is wanted here; send that"
        raise RecordingError(msg)
    most = MOST_LOG_BYTES if kind == "csv" else MOST_BYTES
    if found.st_size > most:
        msg = (
            f"{path.name} has {found.st_size / 2**20:.0f} MiB, more than the {most >> 20} that "
            "are read; record ten seconds at 1080p"
        )
        raise RecordingError(msg)
    return kind


@contextmanager
def opened(path: Path, need: Need) -> Iterator[InputContainer]:
    """The recording in ``path``, checked and ready to be decoded.

    ``need`` is what will be read of it: ``pictures``, ``sound``, or ``either``.

    Raises
    ------
    RecordingError
        When it is no such recording, is locked, damaged, or larger than is read.
    """
    import av  # noqa: PLC0415  # an extra, loaded only when a recording is read
    import av.error  # noqa: PLC0415

    kind = checked_kind(path, CLIPS if need == "pictures" else SOUNDS)
    decoders = ",".join(sorted(KNOWN_DECODERS))
    options = {"protocol_whitelist": "none", "codec_whitelist": decoders}
    with path.open("rb") as file:
        watched = _Watched(file, path.stat().st_size)
        try:
            with av.open(
                watched,
                "r",
                format=CONTAINERS[kind],
                options=options,
                metadata_errors="ignore",
                io_open=_nothing_more,
            ) as container:
                _check_streams(path, need, container)
                yield container
        except MemoryError:  # also the library's own
            raise MemoryError from None
        except av.error.FFmpegError as wrong:
            raise _damaged(path, wrong) from None


def _nothing_more(url: str, _flags: int, _options: object) -> None:
    msg = f"a recording may open nothing else, and not {url!a}"
    raise RecordingError(msg)


def _damaged(path: Path, wrong: Exception) -> RecordingError:
    why = str(getattr(wrong, "strerror", "") or "").lower()
    told = f" ({why})" if why else ""
    return RecordingError(
        f"{path.name} is damaged or cut short{told}; send the original file, not a forwarded copy"
    )


def _check_streams(path: Path, need: Need, container: InputContainer) -> None:
    pictures, sounds = container.streams.video[:1], container.streams.audio[:1]
    wanted = {"pictures": pictures, "sound": sounds, "either": pictures or sounds}[need]
    if not wanted:
        what = {"pictures": "no pictures", "sound": "no sound"}.get(need, "nothing to read")
        msg = f"{path.name} holds {what}; send the recording again"
        raise RecordingError(msg)
    stream, decoder = wanted[0], decoder_of(wanted[0])
    if _tag_of(stream) in LOCKED_TAGS or (decoder == "" and _says_locked(path)):
        msg = f"{path.name} is encrypted (copy-protected); send a recording made by the phone"
        raise RecordingError(msg)
    if decoder not in KNOWN_DECODERS:
        msg = (
            f"{path.name} holds a kind of picture or sound that is not read "
            f"({decoder or 'an unknown one'}); record as H.264, HEVC, VP9 or MJPEG with AAC, "
            "MP3, Opus or plain sound"
        )
        raise RecordingError(msg)
    _check_size(path, declared(container))


def decoder_of(stream: Stream) -> str:
    """The name of the decoder for a stream, "" where the library has none."""
    context: CodecContext | None = stream.codec_context
    return "" if context is None else context.name


def _tag_of(stream: Stream) -> str:
    """The four letters by which the file calls a stream's coding, "" where they are none."""
    context: CodecContext | None = stream.codec_context
    try:
        return "" if context is None else context.codec_tag.lower()
    except UnicodeDecodeError:
        return ""


def _says_locked(path: Path) -> bool:
    """Whether the description of a clip, at its beginning or its end, names a locked track."""
    with path.open("rb") as file:
        head = file.read(DESCRIPTION)
        file.seek(max(path.stat().st_size - DESCRIPTION, 0))
        told = head + file.read(DESCRIPTION)
    return any(tag.encode() in told for tag in LOCKED_TAGS)


@dataclass(frozen=True, slots=True)
class Declared:
    """What a file says of itself; nothing of it is trusted but to refuse or to allow time."""

    seconds: float | None
    width: int
    height: int
    pictures: int
    rate: float


def declared(container: InputContainer) -> Declared:
    """Length, size and number of pictures as the file declares them; None or 0: not said."""
    seconds = None if container.duration is None else container.duration / 1e6
    video = container.streams.video[:1]
    if not video:
        return Declared(seconds, 0, 0, 0, 0.0)
    stream = video[0]
    rate = float(stream.average_rate or stream.guessed_rate or 0)
    return Declared(seconds, stream.width or 0, stream.height or 0, stream.frames or 0, rate)


def _check_size(path: Path, size: Declared) -> None:
    most = MOST_SECONDS["clip" if size.width else "sound"]
    if size.seconds is not None and size.seconds > most:
        asked = "ten seconds, a minute at most" if size.width else "a minute"
        msg = f"{path.name} lasts {size.seconds:.0f} s, too long to read; record {asked}"
        raise RecordingError(msg)
    if size.width * size.height > MOST_PIXELS:
        msg = f"{path.name} has pictures of {size.width} x {size.height}; record at 4K or less"
        raise RecordingError(msg)
    if size.pictures > MOST_PICTURES:
        msg = f"{path.name} has {size.pictures} pictures; record ten seconds, 24 to 60 a second"
        raise RecordingError(msg)
