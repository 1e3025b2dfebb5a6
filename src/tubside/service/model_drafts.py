"""Models being taught: a draft file each in the data folder, with its photo beside it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from uuid import uuid4

import msgspec

from tubside.errors import ModelError, NotThereError
from tubside.panel.sketch import Sketch
from tubside.service import panel_photo
from tubside.service.shop_models import write_whole

DRAFT = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True, slots=True)
class Drafts:
    """The drafts in one folder."""

    folder: Path

    def all(self) -> list[tuple[str, Sketch]]:
        """Every draft that can be read, by name."""
        found = []
        for file in self.folder.glob("*.json"):
            try:
                found.append((file.stem, self.read(file.stem)))
            except (ModelError, NotThereError):
                continue
        return sorted(found, key=lambda draft: (draft[1].name.casefold(), draft[0]))

    def begin(self, sketch: Sketch, photo: bytes | None = None) -> str:
        """Keep a new draft; ``photo`` as it came from a camera. The draft's id."""
        small = None if photo is None else panel_photo.shrunk(photo)
        name = uuid4().hex
        self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        if small is not None:
            write_whole(self._file(name, "photo.jpg"), small)
        self.keep(name, msgspec.structs.replace(sketch, photo=small is not None))
        return name

    def read(self, name: str) -> Sketch:
        """One draft.

        Raises
        ------
        NotThereError
            When there is none of that id.
        ModelError
            When its file was damaged.
        """
        try:
            content = self._file(name, "json").read_bytes()
            return msgspec.json.decode(content, type=Sketch)
        except OSError:
            msg = "there is no such draft of a model; begin it anew"
            raise NotThereError(msg) from None
        except (msgspec.DecodeError, UnicodeError) as wrong:
            msg = f"the draft cannot be read: {wrong}"
            raise ModelError(msg) from None

    def keep(self, name: str, sketch: Sketch) -> None:
        """Keep a draft as it stands now.

        Raises
        ------
        ModelError
            When it holds what a draft may not.
        """
        content = msgspec.json.encode(sketch)
        try:
            msgspec.json.decode(content, type=Sketch)
        except msgspec.DecodeError as wrong:
            msg = f"this is not kept: {wrong}"
            raise ModelError(msg) from None
        write_whole(self._file(name, "json"), content)

    def photo(self, name: str) -> bytes:
        """The photo as it was taken, shrunk."""
        return self._picture(name, "photo.jpg")

    def straight(self, name: str) -> bytes | None:
        """The straightened photo; None before its corners were tapped, or without one."""
        file = self._file(name, "straight.jpg")
        return file.read_bytes() if file.is_file() else None

    def straighten(self, name: str, sketch: Sketch, shape: float | None = None) -> None:
        """Make the photo square by the draft's corners; ``shape`` as measured, else as seen."""
        photo = self.photo(name)
        wide = shape or panel_photo.shape_in(photo, sketch.corners)
        wide = min(max(wide, 0.5), 8.0)
        write_whole(
            self._file(name, "straight.jpg"), panel_photo.straight(photo, sketch.corners, wide)
        )
        self.keep(name, msgspec.structs.replace(sketch, shape=wide))

    def _picture(self, name: str, ending: str) -> bytes:
        try:
            return self._file(name, ending).read_bytes()
        except OSError:
            msg = "there is no such photo"
            raise NotThereError(msg) from None

    def _file(self, name: str, ending: str) -> Path:
        if not DRAFT.fullmatch(name):
            msg = "there is no such draft of a model; begin it anew"
            raise NotThereError(msg)
        return self.folder / f"{name}.{ending}"
