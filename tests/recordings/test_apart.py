"""Recordings are read in a process of their own, and hostile files end in plain words."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest

import small_recordings
from tubside.errors import RecordingError
from tubside.recordings import apart
from tubside.recordings.apart import read_apart, read_sealed
from tubside.recordings.bare_copy import COPY, FIRST_PICTURE

PATIENCE_S = 5.0
on_linux = pytest.mark.skipif(sys.platform != "linux", reason="seals of the Linux kernel")


@pytest.fixture(scope="module")
def clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A clip of two seconds with sound."""
    place = tmp_path_factory.mktemp("clip") / "panel.mp4"
    return small_recordings.write_clip(place, seconds=2.0, sound=True)


def refused(path: Path) -> str:
    """What is told of a file, which must be told within five seconds."""
    began = time.monotonic()
    with pytest.raises(RecordingError) as told:
        read_apart("bare", [path])
    assert time.monotonic() - began < PATIENCE_S
    return str(told.value)


def test_a_clip_is_copied_apart(clip: Path, tmp_path: Path) -> None:
    """Tests that a good clip is read, told of on the way, and its copy kept."""
    shares: list[float] = []
    kept = {COPY: tmp_path / "kept.mp4", FIRST_PICTURE: tmp_path / "first.jpg"}
    told = read_apart("bare", [clip], told=shares.append, kept=kept)
    assert (told["width"], told["height"], told["sound"]) == (320, 180, True)
    assert told["media_type"] == "video/mp4"
    assert shares[-1] == 1.0
    assert kept[FIRST_PICTURE].read_bytes()[:3] == b"\xff\xd8\xff"
    assert kept[COPY].stat().st_size > 1000


@on_linux
def test_everything_is_sealed_here(clip: Path) -> None:
    """Tests that on Linux with Landlock every limit of the table is set."""
    sealed = set(read_sealed("bare", [clip]).sealed)
    assert sealed >= {"processor time", "memory", "file size", "open files", "calls"}
    assert sealed & {"network of its own", "calls"}


SEALED_TRY = """
import json, os, socket, subprocess, sys
from pathlib import Path
from tubside.recordings.sealing import Limits, seal
folder, readable, secret = map(Path, sys.argv[1:4])
told = {"sealed": seal(Limits(memory=2 << 30, written=1 << 20), [readable], folder)}
def tried(name, act):
    try:
        act()
    except BaseException as wrong:
        told[name] = type(wrong).__name__
    else:
        told[name] = "done"
tried("socket", lambda: socket.socket(socket.AF_INET))
tried("connect", lambda: socket.create_connection(("127.0.0.1", 9), 0.2))
tried("program", lambda: subprocess.run([sys.executable, "-c", ""], check=True))
tried("fork", os.fork)
tried("signal", lambda: os.kill(os.getppid(), 0))
tried("allowed", readable.read_bytes)
tried("secret", secret.read_bytes)
tried("own file", lambda: (folder / "own").write_bytes(b"x"))
tried("far file", lambda: (secret.parent / "left-behind").write_bytes(b"x"))
tried("much memory", lambda: bytearray(3 << 30))
tried("many files", lambda: [open(readable, "rb") for _ in range(80)])
import threading
tried("thread", lambda: threading.Thread(target=lambda: None).start())
import signal
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
tried("long file", lambda: (folder / "long").write_bytes(bytes(2 << 20)))
print(json.dumps(told))
"""


@on_linux
def test_a_sealed_process_can_do_no_harm(tmp_path: Path) -> None:
    """Tests that network, programs, other folders, memory, files and sizes are all shut."""
    folder, readable, secret = tmp_path / "work", tmp_path / "sent", tmp_path / "secret"
    folder.mkdir()
    readable.write_bytes(b"sent")
    secret.write_bytes(b"customers")
    script = [sys.executable, "-I", "-c", SEALED_TRY, str(folder), str(readable), str(secret)]
    ran = subprocess.run(script, capture_output=True, check=True, text=True)
    told = json.loads(ran.stdout)
    if "calls" in told["sealed"]:
        for name in ("socket", "connect", "program", "fork", "signal"):
            assert told[name] == "PermissionError", name
    if "folders" in told["sealed"]:
        for name in ("secret", "far file"):
            assert told[name] == "PermissionError", name
    assert told["allowed"] == told["own file"] == told["thread"] == "done"
    assert told["much memory"] == "MemoryError"
    assert told["many files"] == told["long file"] == "OSError"
    assert not (tmp_path / "left-behind").exists()


def test_the_environment_is_closed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that nothing of this process's environment goes along."""
    monkeypatch.setenv("SHOP_PASSWORD", "coppertub")
    assert "SHOP_PASSWORD" not in apart._closed_environment("folder")


@pytest.mark.parametrize(
    ("head", "says"),
    [
        (b"", "empty"),
        (b"PK\x03\x04" + bytes(100), "ZIP archive"),
        (b"%PDF-1.7 " + bytes(100), "PDF"),
        (b"\xff\xd8\xff\xe0" + bytes(100), "still photo"),
        (b"#EXTM3U\nhttp://127.0.0.1/a.ts\n", "playlist"),
        (b"ffconcat version 1.0\nfile /etc/passwd\n", "playlist"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "web page or drawing"),
        (b"-----BEGIN PGP MESSAGE-----\n", "encrypted"),
        (b"\x00\x00\x00\x18ftypheic" + bytes(100), "still photo"),
        (b"\x00\x01\x02\x03" * 30, "no recording that can be read"),
        (b"\x00\x00\x00\x18ftypisom" + bytes(100), "damaged"),
        (b"\x1a\x45\xdf\xa3" + bytes(200), ""),
        (b"RIFF\xff\xff\xff\xffAVI " + bytes(200), ""),
        (b"OggS" + bytes(300), ""),
        (b"ID3\x04\x00\x00\x7f\x7f\x7f\x7f" + bytes(300), ""),
        (b"RIFF\xff\xff\xff\xffWAVEfmt " + bytes(300), ""),
    ],
)
def test_what_is_no_recording_is_told_plainly(tmp_path: Path, head: bytes, says: str) -> None:
    """Tests that strange and broken files are refused in words within five seconds."""
    path = tmp_path / "sent.mp4"
    path.write_bytes(head)
    told = refused(path)
    assert says in told
    assert "send" in told or "record" in told


def test_a_polyglot_is_only_what_it_begins_with(clip: Path, tmp_path: Path) -> None:
    """Tests that a clip with an archive behind it is read as a clip alone."""
    path = tmp_path / "both.mp4"
    path.write_bytes(clip.read_bytes() + b"PK\x03\x04" + b"payload" * 50)
    kept = tmp_path / "kept.mp4"
    read_apart("bare", [path], kept={COPY: kept})
    assert b"payload" not in kept.read_bytes()


def test_a_place_stays_behind(tmp_path: Path) -> None:
    """Tests that the place, time and name that a phone writes are not in the copy."""
    import av  # noqa: PLC0415

    plain, marked = small_recordings.write_clip(tmp_path / "a.mp4", seconds=1.0), tmp_path / "b.mp4"
    with (
        av.open(str(plain)) as source,
        av.open(str(marked), "w", options={"movflags": "use_metadata_tags"}) as out,
    ):
        stream = out.add_stream_from_template(source.streams.video[0])
        out.metadata["location"] = "+51.2345-002.3456/"
        out.metadata["com.apple.quicktime.model"] = "Handset 9"
        for packet in source.demux(source.streams.video[0]):
            if packet.dts is not None:
                packet.stream = stream
                out.mux(packet)
    assert b"51.2345" in marked.read_bytes()
    kept = tmp_path / "kept.mp4"
    read_apart("bare", [marked], kept={COPY: kept})
    assert b"51.2345" not in kept.read_bytes()
    assert b"Handset" not in kept.read_bytes()


def test_an_endless_file_is_refused(tmp_path: Path) -> None:
    """Tests that a pipe without end is not read at all."""
    pipe = tmp_path / "endless.mp4"
    os.mkfifo(pipe)
    assert "no file with an end" in refused(pipe)


def test_a_huge_file_is_refused(tmp_path: Path) -> None:
    """Tests that a file beyond the limit is refused by its size alone."""
    path = tmp_path / "huge.mp4"
    path.write_bytes(b"\x00\x00\x00\x18ftypisom")
    os.truncate(path, 3 << 30)
    assert "3072 MiB" in refused(path)


def test_a_long_clip_is_refused(clip: Path, tmp_path: Path) -> None:
    """Tests that a clip that says it lasts for hours is not begun."""
    told = bytearray(clip.read_bytes())
    for box in (b"mvhd", b"mdhd"):
        place = told.index(box) + 4 + 12  # after version, flags and two times: ticks a second
        told[place : place + 4] = (2).to_bytes(4, "big")
    path = tmp_path / "long.mp4"
    path.write_bytes(told)
    assert "too long" in refused(path)


def test_an_encrypted_clip_is_told(clip: Path, tmp_path: Path) -> None:
    """Tests that a copy-protected clip is told as encrypted."""
    path = tmp_path / "locked.mp4"
    path.write_bytes(clip.read_bytes().replace(b"avc1\x00", b"encv\x00"))
    assert "encrypted" in refused(path)


def test_a_reader_that_hangs_is_ended(
    clip: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests that a process that says nothing is ended in time, and the app goes on."""
    hung = tmp_path / "hung.py"
    hung.write_text("import time\ntime.sleep(60)\n", encoding="ascii")
    monkeypatch.setattr(apart, "START_S", 0.3)
    monkeypatch.setattr(apart, "PYTHON", str(_as_python(tmp_path, hung)))
    began = time.monotonic()
    with pytest.raises(RecordingError, match="did not start"):
        read_apart("bare", [clip])
    assert time.monotonic() - began < PATIENCE_S


def test_a_reader_that_dies_is_told(
    clip: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests that a process that is killed by what it reads ends in plain words."""
    dead = tmp_path / "dead.py"
    dead.write_text("import os\nos.abort()\n", encoding="ascii")
    monkeypatch.setattr(apart, "PYTHON", str(_as_python(tmp_path, dead)))
    with pytest.raises(RecordingError, match="broke its reader"):
        read_apart("bare", [clip])


def _as_python(folder: Path, script: Path) -> Path:
    program = folder / "python"
    program.write_text(
        textwrap.dedent(f"""\
            #!/bin/sh
            exec {sys.executable} {script}
            """),
        encoding="utf-8",
    )
    program.chmod(0o700)
    return program
