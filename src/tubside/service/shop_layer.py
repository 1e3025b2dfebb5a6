"""The shop's own changes on the packs: one file for each family in its data folder."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from tubside.errors import LayerError, LayerFileError, Problem, TubsideError
from tubside.pack.check import check_pack
from tubside.pack.home import families, pack_folder
from tubside.pack.layer.applying import applied
from tubside.pack.layer.beside import Beside, side_by_side
from tubside.pack.layer.conflicts import Conflict, conflicts
from tubside.pack.layer.editing import Signed, changed, empty_layer, kept, undone
from tubside.pack.layer.judging import judged
from tubside.pack.layer.reading import Layer, Standing, layer_from, read_layer, standing
from tubside.pack.layer.targets import Target
from tubside.pack.layer.writing import layer_text
from tubside.pack.reading import PackSource, read_pack
from tubside.service.layered_pack import layer_file
from tubside.service.one_writer import one_writer
from tubside.service.pack_checking import checked_pack
from tubside.service.shop_models import write_whole
from tubside.strict_yaml import Tree

PLAYED_SECTIONS = ("machine", "controller", "conditions", "stages")
PLAYED_FIELDS = ("moves", "reported_as", "without_physics")
"""What the played machine depends on; other changes are checked without playing it."""


@dataclass(frozen=True, slots=True)
class Tried:
    """A change that the pack takes, not yet kept.

    Parameters
    ----------
    layer
        The layer with the change.
    source
        The pack with that layer, checked.
    warnings
        What may be meant and was not there without the change.
    """

    layer: Layer
    source: PackSource
    warnings: tuple[Problem, ...]


@dataclass(frozen=True, slots=True)
class ShopLayers:
    """The folder of a shop's layers, and the packs that they lie on; safe to share by threads."""

    folder: Path
    packs: Path | None = None

    def families(self) -> list[str]:
        """Families that have a layer, good or not."""
        return [family for family in families(self.packs) if self._file(family).is_file()]

    def problems(self) -> dict[str, str]:
        """Family -> why its layer is not used."""
        found = {}
        for family in self.families():
            try:
                judged(self.shipped(family), self.read(family), _quick_errors)
            except TubsideError as wrong:
                found[family] = str(wrong)
        return found

    def read(self, family: str) -> Layer:
        """The layer of a family; one without changes where there is no file.

        Raises
        ------
        UnknownNameError
            When there is no pack for the family.
        LayerFileError
            With every problem of its file.
        """
        self.shipped_folder(family)
        file = self._file(family)
        return read_layer(file, family) if file.is_file() else empty_layer(family)

    def shipped(self, family: str) -> PackSource:
        """The pack as it was shipped."""
        return read_pack(self.shipped_folder(family))

    def shipped_folder(self, family: str) -> Path:
        """The folder of the shipped pack; an unknown family raises UnknownNameError."""
        return pack_folder(family, self.packs)

    def source(self, family: str) -> PackSource:
        """The pack with the shop's layer on it, as written."""
        return applied(self.shipped(family), self.read(family))

    def beside(self, family: str) -> list[Beside]:
        """The shop's values beside the shipped ones, place by place."""
        return side_by_side(self.shipped(family), self.read(family))

    def conflicts(self, family: str) -> list[Conflict]:
        """Where the shipped pack has moved on under the shop's changes."""
        return conflicts(self.shipped(family), self.read(family))

    def tried(self, family: str, edits: Sequence[tuple[Target, Tree | None]], by: Signed) -> Tried:
        """What a change would make of the pack; nothing is written.

        Raises
        ------
        LayerError
            When a place cannot be had, or says so already.
        LayerFileError
            With everything that the pack's rules find wrong then, naming the change.
        """
        shipped = self.shipped(family)
        layer = changed(self.read(family), shipped, edits, by)
        return _judged(shipped, layer, self.read(family))

    def change(self, family: str, edits: Sequence[tuple[Target, Tree | None]], by: Signed) -> Layer:
        """Keep a change: each place with what is to stand there, None for nothing.

        What is refused (see :meth:`tried`) leaves everything as it was.
        """
        before = self._bytes(family)
        return self._keep(self.tried(family, edits, by).layer, before)

    def undo(self, family: str, change: str, by: Signed, *, advised: bool) -> Layer:
        """Take a change back; see :func:`tubside.pack.layer.editing.undone`.

        Raises
        ------
        LayerError
            When there is no such change in force, or another stands on it.
        LayerFileError
            When the pack would be wrong without it, and was not with it.
        """
        before = self._bytes(family)
        layer, shipped = self.read(family), self.shipped(family)
        fewer = undone(layer, change, by, advised=advised)
        if _can_be(shipped, layer):  # else a newer pack broke it, and any way out is good
            _judged(shipped, fewer, layer)
        return self._keep(fewer, before)

    def settle(self, family: str, change: str, by: Signed) -> Layer:
        """Keep a change against what the pack ships now: its conflicts are told no more.

        Raises
        ------
        LayerError
            When there is no such change, or it has no conflict.
        """
        before = self._bytes(family)
        return self._keep(kept(self.read(family), self.shipped(family), change, by), before)

    def exported(self, family: str) -> bytes:
        """The layer of a family as one file."""
        return layer_text(self.read(family).file).encode()

    def taken_in(self, content: bytes, *, again: bool = False) -> str:
        """Keep the layer of a file whole or not at all; its family.

        ``again`` replaces the layer that is there.

        Raises
        ------
        UnknownNameError
            When there is no pack for its family.
        LayerFileError
            With every problem of the file, and of the pack with it.
        LayerError
            When there is a layer already.
        """
        layer = layer_from(content, "the file")
        family = layer.family
        shipped, before = self.shipped(family), self._bytes(family)
        if before is not None and not again:
            msg = f"the shop has a layer on {family} already; export it, then replace it"
            raise LayerError(msg)
        _judged(shipped, layer, empty_layer(family))
        self._keep(layer, before)
        return family

    def _keep(self, layer: Layer, before: bytes | None) -> Layer:
        """Write a layer whole; one without changes is no file."""
        file = self._file(layer.family)
        with one_writer(self.folder):
            if self._bytes(layer.family) != before:
                msg = "somebody else changed the layer meanwhile; look at it and try again"
                raise LayerError(msg)
            if layer.changes:
                self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
                write_whole(file, layer_text(layer.file).encode())
            else:
                file.unlink(missing_ok=True)
        return layer

    def _file(self, family: str) -> Path:
        pack_folder(family, self.packs)  # an id that is no family's leads to no file
        return layer_file(self.folder, family)

    def _bytes(self, family: str) -> bytes | None:
        file = self._file(family)
        return file.read_bytes() if file.is_file() else None


def _judged(shipped: PackSource, layer: Layer, before: Layer) -> Tried:
    """The pack with a layer, checked as ``tubside pack check`` does; else LayerFileError."""
    play = any(_plays(edit.target) for edit in _differing(layer, before))
    source = judged(shipped, layer, lambda of: checked_pack(of, play=play).errors)
    known = {(each.what, each.mend) for each in _warnings(shipped, before)}
    found = check_pack(source).warnings
    fresh = tuple(each for each in found if (each.what, each.mend) not in known)
    return Tried(layer, source, fresh)


def _can_be(shipped: PackSource, layer: Layer) -> bool:
    try:
        judged(shipped, layer, _quick_errors)
    except LayerFileError:
        return False
    return True


def _warnings(shipped: PackSource, layer: Layer) -> Sequence[Problem]:
    try:
        return check_pack(applied(shipped, layer)).warnings
    except LayerFileError:
        return ()


def _differing(layer: Layer, before: Layer) -> list[Standing]:
    """Edits in force in one of two layers and not in the other."""
    here, there = standing(layer), standing(before)
    mine = [(edit.target, edit.now) for edit in here]
    theirs = [(edit.target, edit.now) for edit in there]
    fresh = [edit for edit, key in zip(here, mine, strict=True) if key not in theirs]
    return [*fresh, *(edit for edit, key in zip(there, theirs, strict=True) if key not in mine)]


def _plays(target: Target) -> bool:
    """Whether the played machine may depend on what stands at a place."""
    field_of_cause = target[0] == "causes" and (len(target) < 3 or target[2] in PLAYED_FIELDS)
    return target[0] in PLAYED_SECTIONS or field_of_cause


def _quick_errors(source: PackSource) -> Sequence[Problem]:
    return checked_pack(source, play=False).errors
