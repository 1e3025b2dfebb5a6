"""A pack ready to use: read once, compiled once, then kept by content hash."""

from __future__ import annotations

import os
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec
import numpy as np

from tubside.errors import PackError
from tubside.pack.compiling import Solved, compile_pack
from tubside.pack.fault_model import FaultModel, Machine, Move
from tubside.pack.parameters import CONTROLLER, PARAMETERS, kind_named
from tubside.pack.schema import Pack

if TYPE_CHECKING:
    from tubside.pack.layer.judging import Rules
    from tubside.pack.layer.reading import Layer
    from tubside.pack.reading import PackSource

FORM = "10"
"""Changes whenever what is kept, or how it is solved, changes."""


@dataclass(frozen=True, slots=True)
class LoadedPack:
    """A pack, and the model compiled from it."""

    pack: Pack
    model: FaultModel


class _KeptMachine(msgspec.Struct, frozen=True):
    middle: list[float]
    spread: list[float]
    logarithmic: list[bool]
    moves: list[tuple[int, int, int, float, float, float]]
    controller: dict[str, float]


class _Kept(msgspec.Struct, frozen=True):
    pack: Pack
    odds: list[float]
    q: list[list[float]]
    machine: _KeptMachine | None


@dataclass(frozen=True, slots=True)
class OnTop:
    """A layer on a pack, and the rules it must pass besides the pack's own."""

    layer: Layer
    rules: Rules


def load_pack(folder: Path, kept_in: Path | None = None, on_top: OnTop | None = None) -> LoadedPack:
    """Read and compile the pack in ``folder``; the slow parts come from ``kept_in``.

    Raises
    ------
    PackError
        When the pack cannot be read, or its machine has values that cannot be.
    LayerFileError
        When it would be wrong with what is ``on_top``.
    """
    from tubside.pack.reading import contents, digest_of  # noqa: PLC0415  # keeps start-up fast

    shipped = digest = digest_of(contents(folder))
    if on_top is not None:
        from tubside.pack.layer.applying import digest_with  # noqa: PLC0415

        digest = digest_with(shipped, on_top.layer)
    place = (kept_in or default_place()) / f"{_key(digest)}.msgpack"
    kept = _read(place)
    if kept is None:
        kept = _compiled(folder, digest, None if digest == shipped else on_top)
        _write(place, kept)
    solved = Solved(np.array(kept.odds), np.array(kept.q), _machine(kept.machine))
    return LoadedPack(kept.pack, compile_pack(kept.pack, digest, solved))


def default_place() -> Path:
    """Folder for things that can be made again (XDG Base Directory Specification 0.8)."""
    base = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    return Path(base) / "tubside"


def _key(digest: str) -> str:
    known = repr((PARAMETERS, CONTROLLER))
    return sha256(f"{FORM}\0{known}\0{digest}".encode()).hexdigest()[:40]


def _compiled(folder: Path, digest: str, on_top: OnTop | None) -> _Kept:
    source = _judged(folder, on_top)
    model = compile_pack(source.pack, digest)
    odds, q = model.prior.odds.tolist(), model.complaint.q.tolist()
    return _Kept(source.pack, odds, q, _kept_machine(model.machine))


def _judged(folder: Path, on_top: OnTop | None) -> PackSource:
    """The pack as written; with a layer on it, every rule of a pack is applied."""
    from tubside.pack import check_machine, check_reading  # noqa: PLC0415  # keeps start-up fast
    from tubside.pack.reading import read_pack  # noqa: PLC0415

    source = read_pack(folder)
    if on_top is not None:
        from tubside.pack.check import check_pack  # noqa: PLC0415
        from tubside.pack.layer.judging import judged  # noqa: PLC0415

        also = on_top.rules
        return judged(source, on_top.layer, lambda of: [*check_pack(of).errors, *also(of)])
    rules = (*check_machine.ERRORS, *check_reading.ERRORS)
    if wrong := [problem for rule in rules for problem in rule(source)]:
        raise PackError(sorted(wrong))
    return source


def _kept_machine(machine: Machine | None) -> _KeptMachine | None:
    if machine is None:
        return None
    return _KeptMachine(
        middle=machine.middle.tolist(),
        spread=machine.spread.tolist(),
        logarithmic=machine.logarithmic.tolist(),
        moves=[(m.cause, m.parameter, m.how, m.value, m.spread, m.share) for m in machine.moves],
        controller=machine.controller,
    )


def _machine(kept: _KeptMachine | None) -> Machine | None:
    if kept is None:
        return None
    known = kind_named(kept.controller).parameters
    return Machine(
        parameters=tuple(known),
        middle=np.array(kept.middle),
        spread=np.array(kept.spread),
        logarithmic=np.array(kept.logarithmic, dtype=bool),
        low=np.array([of.low for of in known.values()]),
        high=np.array([of.high for of in known.values()]),
        moves=tuple(Move(*move) for move in kept.moves),
        controller=kept.controller,
    )


def _read(place: Path) -> _Kept | None:
    """What was kept, or None where there is nothing usable: it is then made again."""
    try:
        return msgspec.msgpack.decode(place.read_bytes(), type=_Kept)
    except (OSError, msgspec.DecodeError):
        return None


def _write(place: Path, kept: _Kept) -> None:
    """Keep it if the folder can be written; written aside first, so never half."""
    aside = place.with_suffix(f".{os.getpid()}")
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        aside.write_bytes(msgspec.msgpack.encode(kept))
        aside.replace(place)
    except OSError:
        with suppress(OSError):
            aside.unlink()
