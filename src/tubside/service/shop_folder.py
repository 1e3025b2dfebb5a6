"""Where a shop's own files are, told without opening its database."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from tubside.store.folders import LAYERS, MODELS


@dataclass(frozen=True, slots=True)
class Own:
    """The folders of a shop's own models and changes; None where nothing of its own is used."""

    models: Path | None = None
    layers: Path | None = None


def own_folders(place: str | Path | None) -> Own:
    """The folders of own models and changes in a data folder; nothing where ``place`` is None."""
    return Own() if place is None else Own(models_folder(place), layers_folder(place))


def default_folder() -> Path:
    """The folder used when none is named (XDG Base Directory Specification 0.8)."""
    base = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return Path(base) / "tubside"


def home_folder(place: str | Path) -> Path:
    """Where a shop's files are: its data folder, or this machine's default one with a server."""
    return default_folder() if is_address(place) else Path(place)


def models_folder(place: str | Path) -> Path:
    """Where a shop's own models are: in its data folder, beside the database.

    With a database on a server they are in the default folder of this machine.
    """
    return home_folder(place) / MODELS


def layers_folder(place: str | Path) -> Path:
    """Where a shop's own changes on the packs are: beside its models."""
    return home_folder(place) / LAYERS


def is_address(place: str | Path) -> bool:
    """Whether a place is the address of a server rather than a folder."""
    return isinstance(place, str) and "://" in place
