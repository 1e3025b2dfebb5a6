"""A copy of a recording without what a phone writes beside picture and sound.

Place, time, name of the phone, chapters and tracks of positions stay behind: only the
packets of the first picture and the first sound are copied into a new file, with their
times and the turn by which the picture is shown. Nothing is encoded anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from tubside.errors import RecordingError
from tubside.recordings.file_kinds import CLIPS, HEAD, FileKind, file_kind
from tubside.recordings.first_look import first_decoded
from tubside.recordings.opening import KNOWN_DECODERS, declared, decoder_of, opened

if TYPE_CHECKING:
    from av.container import InputContainer, OutputContainer

COPY, FIRST_PICTURE = "copy", "first.jpg"
"""Names of the files written."""
MOST_SIDE = 1280
"""Of the first picture [points]: it is only looked at and tapped on."""
MEDIA_TYPES: dict[FileKind, tuple[str, str]] = {
    "mp4": ("mp4", "video/mp4"),
    "webm": ("webm", "video/webm"),
    "avi": ("avi", "video/x-msvideo"),
    "wav": ("wav", "audio/wav"),
    "ogg": ("ogg", "audio/ogg"),
    "mp3": ("mp3", "audio/mpeg"),
}
"""Kind of file -> how the copy is written, and what it is then."""
IN_MP4 = frozenset({"h264", "hevc", "vp9", "aac", "mp3", "mp3float", "opus"})


class Copied(msgspec.Struct, frozen=True):
    """What the copy is: its media type, length [s], and the size of the picture as shown."""

    media_type: str
    seconds: float | None
    width: int
    height: int
    sound: bool


def answer(paths: Sequence[Path], _options: bytes) -> bytes:
    """Write ``copy`` and, of a clip, ``first.jpg`` into the working folder; what they are."""
    return msgspec.json.encode(bare_copy(paths[0], Path()))


def bare_copy(path: Path, folder: Path) -> Copied:
    """Copy a recording into a folder without what lies beside picture and sound.

    Raises
    ------
    RecordingError
        When it cannot be read, or breaks off before anything could be copied.
    """
    width = height = 0
    with opened(path, "either") as container:
        pictures = bool(container.streams.video)
        if pictures and _kind(path) in CLIPS:
            width, height = _first_picture(container, folder / FIRST_PICTURE)
    with opened(path, "either") as container:
        kind = _kind(path)
        sound = any(stream.type == "audio" for stream in _copied(container))
        form, media_type = MEDIA_TYPES[kind]
        codecs = {decoder_of(stream) for stream in _copied(container)}
        if kind == "mp4" and not codecs <= IN_MP4:
            form, media_type = "mov", "video/quicktime"
        if not width:
            media_type = media_type.replace("video/", "audio/")
        seconds = declared(container).seconds
        if not _copy(container, folder / COPY, form):
            msg = f"{path.name} breaks off at once; send the original file"
            raise RecordingError(msg)
        return Copied(media_type, seconds, width, height, sound)


def _kind(path: Path) -> FileKind:
    with path.open("rb") as file:
        return file_kind(file.read(HEAD))


def _copied(container: InputContainer) -> list[Any]:
    """The first picture and the first sound, those that are decoded here."""
    streams = [*container.streams.video[:1], *container.streams.audio[:1]]
    return [stream for stream in streams if decoder_of(stream) in KNOWN_DECODERS]


def _first_picture(container: InputContainer, place: Path) -> tuple[int, int]:
    """Write the first picture upright; its true width and height as shown."""
    from PIL import Image  # noqa: PLC0415  # needs the app's extra, only where it is shown

    frame = next(first_decoded(container, "pictures"))
    turns = round(frame.rotation / 90) % 4
    picture = frame.to_image()
    if turns:
        picture = picture.rotate(90 * turns, expand=True)
    size = picture.size
    picture.thumbnail((MOST_SIDE, MOST_SIDE), Image.Resampling.LANCZOS)
    picture.save(place, "JPEG", quality=85)
    return int(size[0]), int(size[1])


def _copy(container: InputContainer, place: Path, form: str) -> int:
    """Copy the packets; how many there were."""
    import av  # noqa: PLC0415  # an extra, loaded only when a recording is read
    import av.error  # noqa: PLC0415

    streams, count = _copied(container), 0
    options = {"fflags": "+bitexact", "movflags": "+faststart"} if form == "mp4" else {}
    with av.open(str(place), "w", format=form, options=options) as out:
        onto = {stream.index: out.add_stream_from_template(stream) for stream in streams}
        for stream in onto.values():
            stream.metadata.clear()
        try:
            for packet in container.demux(streams):
                if packet.dts is not None:
                    packet.stream = onto[packet.stream.index]
                    _mux(out, packet)
                    count += 1
        except av.error.InvalidDataError:
            return count  # the rest is damaged; what was whole is kept
    return count


def _mux(out: OutputContainer, packet: Any) -> None:  # noqa: ANN401  # PyAV's packet
    import av.error  # noqa: PLC0415  # an extra

    try:
        out.mux(packet)
    except av.error.ArgumentError:
        return  # a packet whose time does not rise: no player would show it either
