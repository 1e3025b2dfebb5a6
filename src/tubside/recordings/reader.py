"""The process that reads one recording: ``python -I -m tubside.recordings.reader``.

What to do comes as JSON on standard input; lines of JSON go out on standard output:
``ready`` with what could be limited, ``opened`` with what the files declare, ``share``
while they are read, and at last ``answer`` (the reader's own JSON) or ``wrong`` (what
is wrong and how to mend it). It is sealed before it looks at any file.
"""

from __future__ import annotations

import os
import sys
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import msgspec

from tubside.errors import RecordingError
from tubside.recordings.opening import Need, told_share
from tubside.recordings.sealing import Limits, seal, tighten
from tubside.recordings.time_allowed import Size, allowed_s

READERS: dict[str, tuple[str, Need | None]] = {
    "lamps": ("tubside.recordings.lamps_in_clip", "pictures"),
    "sound": ("tubside.recordings.sound.answering", "sound"),
    "spin": ("tubside.recordings.sound.spin_answering", "sound"),
    "shake": ("tubside.recordings.shake.answering", None),
    "bare": ("tubside.recordings.bare_copy", "either"),
}
"""Kind -> the module whose ``answer(paths, options)`` reads it, and what it needs."""
MOST_ASKED = 4 << 20


class Asked(msgspec.Struct, frozen=True, kw_only=True):
    """What the parent wants read; ``beside`` are files it may open too."""

    kind: str
    files: list[str]
    folder: str
    options: msgspec.Raw = msgspec.Raw(b"{}")
    beside: list[str] = []


def main() -> None:
    """Read what is asked for on standard input."""
    asked = msgspec.json.decode(sys.stdin.buffer.read(MOST_ASKED), type=Asked)
    out = _own_output()

    def say(**told: Any) -> None:  # noqa: ANN401  # any JSON
        os.write(out, msgspec.json.encode(told) + b"\n")

    files = [Path(file) for file in asked.files]
    sealed = seal(Limits(), [*files, *map(Path, asked.beside)], Path(asked.folder))
    try:
        _read(asked, files, sealed, say)
    except RecordingError as wrong:
        say(wrong=str(wrong))
    except MemoryError:
        say(wrong="it needs more memory than a recording may; record ten seconds at 1080p")
    except Exception as wrong:  # noqa: BLE001  # whatever a broken file makes a library do
        say(failed=f"{type(wrong).__name__}: {wrong}"[:400])


def _read(asked: Asked, files: list[Path], sealed: tuple[str, ...], say: Any) -> None:  # noqa: ANN401  # see main
    module, need = READERS[asked.kind]
    if need is not None and find_spec("av") is None:
        msg = (
            "reading a recording needs more packages; install them with: "
            "pip install 'tubside[recordings]'"
        )
        raise RecordingError(msg)
    from tubside.recordings.first_look import first_look  # noqa: PLC0415  # after sealing

    if need is not None:
        import_module("av")
    say(ready=sealed)
    sizes = [
        Size.of(first_look(file, need), file.stat().st_size, pictures=need != "sound")
        for file in files
    ]
    say(opened=sizes)
    tighten(round(2 * allowed_s(sizes)))
    told_share.set(lambda share: say(share=round(share, 3)))
    answer: bytes = import_module(module).answer(files, bytes(asked.options))
    say(answer=msgspec.Raw(answer))


def _own_output() -> int:
    """Standard output for this module alone; whatever else is printed goes nowhere."""
    out, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    return out


if __name__ == "__main__":
    main()
