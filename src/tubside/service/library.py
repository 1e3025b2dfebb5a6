"""The knowledge of a shop, read once and kept in memory."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from threading import Lock

from tubside.errors import TubsideError
from tubside.pack.home import families
from tubside.service.job_file import JobFile
from tubside.service.knowledge import (
    Knowledge,
    knowledge_of_family,
    knowledge_of_model,
    models,
)
from tubside.service.layered_pack import layer_file

Stamp = tuple[int, int, int] | None


@dataclass(frozen=True, slots=True)
class _Entry:
    """What is known of a family or a model, and the shop's own files at that time."""

    known: Knowledge
    content_hash: str
    files: tuple[Stamp, Stamp]


class Library:
    """Packs and panels of one folder, each read on first use; safe to share by threads.

    Parameters
    ----------
    packs
        The folder of packs; None for those that come with the program.
    shop
        The folder of the shop's own models; None where there is none.
    layers
        The folder of the shop's own changes on the packs; None where there is none.
    """

    def __init__(
        self, packs: Path | None = None, shop: Path | None = None, layers: Path | None = None
    ) -> None:
        self.packs = packs
        self.shop = shop
        self.layers = layers
        self._known: dict[tuple[str, str], _Entry] = {}
        self._reading = Lock()

    def families(self) -> list[str]:
        """Every family there is a pack for."""
        return families(self.packs)

    def models(self) -> list[str]:
        """Every model there is a panel for; one whose file has problems is left out."""
        shipped = models(self.packs)
        own = [name for name in models(self.packs, self.shop) if name not in shipped]
        return [*shipped, *(name for name in own if self._can_be_read(name))]

    def forget(self, name: str) -> None:
        """Read a model anew on its next use, as its file was changed."""
        with self._reading:
            self._known.pop(("model", name), None)

    def forget_family(self, name: str) -> None:
        """Read a family and its models anew on their next use, as the shop's layer was changed."""
        with self._reading:
            of = [key for key, entry in self._known.items() if entry.known.pack.family == name]
            for key in of:
                del self._known[key]

    def content_hashes(self, family: str) -> set[str]:
        """SHA-256 of all that advice on this family's machines may be computed from now."""
        own = [name for name in self.models() if self.model(name).pack.family == family]
        keys = [("family", family), *(("model", name) for name in own)]
        return {self._entry(*key).content_hash for key in keys}

    def _can_be_read(self, name: str) -> bool:
        """Whether a model of the shop's own has a good file."""
        try:
            self.model(name)
        except TubsideError:
            return False
        return True

    def family(self, name: str) -> Knowledge:
        """The pack of a family; an unknown one raises UnknownNameError."""
        return self._entry("family", name).known

    def model(self, name: str) -> Knowledge:
        """The pack and the panel of a model; an unknown one raises UnknownNameError."""
        return self._entry("model", name).known

    def of(self, job: JobFile) -> Knowledge:
        """The knowledge a job stands on: of its model, else of its family."""
        return self._entry(*_named(job)).known

    def content_hash(self, job: JobFile) -> str:
        """SHA-256 of the pack, the layer and the model that advice on a job is computed from."""
        return self._entry(*_named(job)).content_hash

    def _entry(self, kind: str, name: str) -> _Entry:
        key = (kind, name.replace("-", "_") if kind == "family" else name)
        entry = self._known.get(key)
        if entry is None or entry.files != self._files_now(key, entry.known):
            with self._reading:
                entry = self._known.get(key)
                if entry is None or entry.files != self._files_now(key, entry.known):
                    self._known.pop(key, None)
                    entry = self._known[key] = self._read(*key)
        return entry

    def _files_now(self, key: tuple[str, str], known: Knowledge) -> tuple[Stamp, Stamp]:
        """What tells that the layer or the shop's model was changed, also by another process."""
        return self._layer_now(known.pack.family), self._model_now(*key)

    def _layer_now(self, family: str) -> Stamp:
        return None if self.layers is None else _stamp(layer_file(self.layers, family))

    def _model_now(self, kind: str, name: str) -> Stamp:
        if self.shop is None or kind == "family":
            return None
        return _stamp(self.shop / f"{name}.yaml")

    def _read(self, kind: str, name: str) -> _Entry:
        # looked at before they are read: a change in between is then seen next time
        layers = {family: self._layer_now(family) for family in self.families()}
        own = self._model_now(kind, name)
        if kind == "family":
            known, more = knowledge_of_family(name, self.packs, self.layers), b""
        else:
            known = knowledge_of_model(name, self.packs, self.shop, self.layers)
            more = b"\0" + models(self.packs, self.shop)[name].read_bytes()
        told = sha256(known.model.digest.encode() + more).hexdigest()
        return _Entry(known, told, (layers.get(known.pack.family), own))


def _stamp(file: Path) -> Stamp:
    """What changes with a file; None where there is none."""
    try:
        found = file.stat()
    except OSError:
        return None
    return (found.st_mtime_ns, found.st_size, found.st_ino)


def _named(job: JobFile) -> tuple[str, str]:
    return ("model", job.model) if job.model is not None else ("family", str(job.family))
