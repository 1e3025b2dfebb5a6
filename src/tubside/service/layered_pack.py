"""A family's pack with the shop's layer on it, or without where that cannot be used."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from tubside.errors import LayerFileError
from tubside.pack.home import pack_folder
from tubside.pack.loading import LoadedPack, OnTop, load_pack


@dataclass(frozen=True, slots=True)
class OwnChanges:
    """How many changes of the shop's own are in a pack, and when the last of them was made."""

    count: int
    last: datetime


@dataclass(frozen=True, slots=True)
class LayeredPack:
    """A pack ready to use; ``unused`` says why the shop's layer is not on it, if it is not."""

    loaded: LoadedPack
    unused: str | None = None
    own: OwnChanges | None = None


def layered_pack(family: str, packs: Path | None = None, layers: Path | None = None) -> LayeredPack:
    """The pack of a family with the layer in the folder ``layers``, if there is one.

    A layer that cannot be read, or leaves the pack wrong, never stops anything: then the
    shipped pack is used, and why is told.

    Raises
    ------
    UnknownNameError
        When there is no pack for the family.
    PackError
        When the shipped pack itself cannot be used.
    """
    folder = pack_folder(family, packs)
    file = None if layers is None else layer_file(layers, family)
    if file is None or not file.is_file():
        return LayeredPack(load_pack(folder))
    from tubside.machine.measured import unfit_readings  # noqa: PLC0415  # most shops have none
    from tubside.pack.layer.reading import read_layer  # noqa: PLC0415

    try:
        layer = read_layer(file, family)
        loaded = load_pack(folder, on_top=OnTop(layer, unfit_readings))
    except LayerFileError as wrong:
        return LayeredPack(load_pack(folder), str(wrong))
    made = [change.when for change in layer.changes if change.taken_back is None]
    return LayeredPack(loaded, None, OwnChanges(len(made), max(made)) if made else None)


def layer_file(layers: Path, family: str) -> Path:
    """Where the layer of a family is."""
    return layers / f"{family}.yaml"
