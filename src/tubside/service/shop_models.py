"""The shop's own models: one file each in its data folder, beside those that are shipped."""

from __future__ import annotations

import os
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from tubside.errors import ModelError, NotThereError, TubsideError
from tubside.panel.archive import Unpacked, packed
from tubside.panel.checking import ID
from tubside.panel.schema import Panel
from tubside.panel.writing import panel_text
from tubside.service.knowledge import models
from tubside.service.model_file import checked_panel, read_model
from tubside.service.one_writer import one_writer


@dataclass(frozen=True, slots=True)
class ShopModels:
    """The folder of a shop's models, and the packs and own changes they are checked against."""

    folder: Path
    packs: Path | None = None
    layers: Path | None = None

    def names(self) -> list[str]:
        """Ids of the files that are there, read or not."""
        return sorted(path.stem for path in self.folder.glob("*.yaml"))

    def problems(self) -> dict[str, str]:
        """Id -> why a file there is not used."""
        shipped, found = models(self.packs), {}
        for name in self.names():
            if name in shipped:
                found[name] = "a model of this id came with the program, and that one is used"
                continue
            try:
                self.read(name)
            except TubsideError as wrong:
                found[name] = str(wrong)
        return found

    def read(self, name: str) -> Panel:
        """One model's panel, checked against the pack of its family.

        Raises
        ------
        NotThereError
            When there is no such model of the shop's.
        PanelError
            With every problem of its file.
        """
        file = self._file(name)
        if not file.is_file():
            msg = f"the shop has taught no model {name!a}"
            raise NotThereError(msg)
        return read_model(file, self.packs, self.layers)

    def photo(self, name: str) -> bytes | None:
        """The model's photo, straightened; None when there is none."""
        file = self._file(name).with_suffix(".jpg")
        return file.read_bytes() if file.is_file() else None

    def keep(self, panel: Panel, photo: bytes | None = None, *, again: bool = False) -> None:
        """Keep a model; ``again`` replaces the shop's own one of that id.

        The file is written whole and read once before it takes its name, so that a
        power cut or a mistake leaves what was there.

        Raises
        ------
        ModelError
            When the id is that of a shipped model, or taken by another of the shop's.
        PanelError
            With every problem of the panel.
        """
        text = panel_text(panel)
        checked_panel(text, f"{panel.model}.yaml", self.packs, self.layers)
        with one_writer(self.folder):
            self.need_free(panel.model, again=again)
            self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            file = self._file(panel.model)
            if photo is not None:
                write_whole(file.with_suffix(".jpg"), photo)
            elif again:
                file.with_suffix(".jpg").unlink(missing_ok=True)
            write_whole(file, text.encode())

    def need_free(self, name: str, *, again: bool = False) -> None:
        """Refuse an id that is taken.

        Raises
        ------
        ModelError
            Naming by whom.
        """
        if name in models(self.packs):
            msg = (
                f"a model '{name}' came with the program and cannot be replaced; name it otherwise"
            )
            raise ModelError(msg)
        if not again and self._file(name).exists():
            msg = f"the shop has a model '{name}' already; name this one otherwise, or change that"
            raise ModelError(msg)

    def exported(self, name: str) -> bytes:
        """One model as a single archive."""
        return packed(self.read(name), self.photo(name))

    def taken_in(self, archive: Unpacked, photo: bytes | None) -> str:
        """Keep the model of an archive whole or not at all; its id.

        ``photo`` is the archive's one, made anew by whoever can read pictures.
        """
        panel = checked_panel(archive.text, "model.yaml", self.packs, self.layers)
        self.keep(panel, photo)
        return panel.model

    def _file(self, name: str) -> Path:
        if not ID.fullmatch(name) or len(name) > LONGEST_ID:
            msg = f"{name!a:.60} is no model's id"
            raise ModelError(msg)
        return self.folder / f"{name}.yaml"


LONGEST_ID = 60


def write_whole(file: Path, content: bytes) -> None:
    """Write a file so that it is there whole or as before."""
    beside = file.with_name(f".{file.name}.{sha256(content).hexdigest()[:8]}")
    with beside.open("wb") as opened:
        opened.write(content)
        opened.flush()
        os.fsync(opened.fileno())
    beside.replace(file)
