"""What the readings of a pack come to on drawn machines: worked out once, kept by content.

Kept beside the compiled packs, under a name made of the machine's numbers and of the code
of the formulas, so that it is never older than what it was made from.
"""

from __future__ import annotations

import os
from contextlib import suppress
from dataclasses import replace
from functools import cache, partial
from hashlib import sha256
from importlib.resources import files
from importlib.resources.abc import Traversable
from itertools import combinations
from pathlib import Path

import msgspec
import numpy as np

from tubside.diagnosis.machine_part import Drawn
from tubside.diagnosis.predicted import DRAWS, SOUND, Kept, Predicted
from tubside.errors import UnknownNameError
from tubside.machine.quantities import QUANTITIES
from tubside.pack.fault_model import FaultModel, Floats, Machine, Signature
from tubside.pack.loading import default_place
from tubside.strict_yaml import or_one_of

FORM = "4"


class _KeptQuantity(msgspec.Struct, frozen=True):
    causes: list[int]
    signatures: list[tuple[int, ...]]
    values: bytes  # (U, D) single precision
    resolved: bytes  # (U, D)


class _KeptPredictions(msgspec.Struct, frozen=True):
    base: bytes  # (p, D)
    normal: bytes  # (m, D)
    inside: bytes  # (m, D)
    quantities: dict[str, _KeptQuantity]


def with_predictions(model: FaultModel, kept_in: Path | None = None) -> FaultModel:
    """The model, able to say what each of its readings would show; itself if it has none."""
    names = quantities_read(model)
    if model.machine is None or not names:
        return model
    predicted = Predicted(model.machine, QUANTITIES)
    predicted.at_first = partial(_fill, predicted, names, kept_in)
    return replace(model, predicting=predicted)


def _fill(predicted: Predicted, names: tuple[str, ...], kept_in: Path | None) -> None:
    """Put in what was kept, or work it out and keep it."""
    place = (kept_in or default_place()) / f"{_key(predicted.machine, names)}.readings"
    if not _read(place, predicted):
        work_out(predicted, names)
        _write(place, predicted)


def quantities_read(model: FaultModel) -> tuple[str, ...]:
    """The quantities that checks of the model measure.

    Raises
    ------
    UnknownNameError
        When there is no formula for one of them.
    """
    named = {check.reading.quantity for check in model.checks if check.reading is not None}
    for name in sorted(named - set(QUANTITIES)):
        msg = f"the pack measures an unknown quantity '{name}'; {or_one_of(name, QUANTITIES)}"
        raise UnknownNameError(msg)
    return tuple(sorted(named))


def work_out(predicted: Predicted, names: tuple[str, ...]) -> None:
    """Every quantity on sound machines, and with one or two causes that alter it."""
    for name in names:
        bits = [1 << i for i in range(len(predicted.touching(name)))]
        signatures: list[Signature] = [SOUND, *((one,) for one in bits)]
        signatures += [(one | other,) for one, other in combinations(bits, 2)]
        predicted.values(name, signatures)


def _key(machine: Machine, names: tuple[str, ...]) -> str:
    """Everything that predictions depend on, as one name."""
    numbers = (machine.middle, machine.spread, machine.logarithmic, machine.low, machine.high)
    whole = sha256(f"{FORM}\0{DRAWS}\0{names}\0{machine.parameters}\0{machine.moves}".encode())
    for array in numbers:
        whole.update(array.tobytes())
    if machine.constants:
        whole.update(f"{sorted(machine.constants.items())}".encode())
    whole.update(_formulas())
    return whole.hexdigest()[:40]


@cache
def _formulas() -> bytes:
    """Hash of the code that the values come from."""
    whole = sha256()
    for package in ("tubside.machine", "tubside.physics"):
        for file in sorted(_modules(files(package)), key=lambda file: file.name):
            whole.update(file.name.encode() + b"\0" + file.read_bytes())
    return whole.digest()


def _modules(folder: Traversable) -> list[Traversable]:
    return [file for file in folder.iterdir() if file.name.endswith(".py")]


def _read(place: Path, predicted: Predicted) -> bool:
    """Put in what was kept; False where there is nothing usable: it is then made again."""
    machine = predicted.machine
    try:
        kept = msgspec.msgpack.decode(place.read_bytes(), type=_KeptPredictions)
        base = _array(kept.base, len(machine.parameters))
        normal = _array(kept.normal, len(machine.moves))
        inside = np.frombuffer(kept.inside, dtype=bool).reshape(normal.shape)
        whole, causes = {}, {}
        for name, one in kept.quantities.items():
            into = whole[name] = Kept()
            causes[name] = np.array(one.causes, dtype=np.int64)
            shape = (len(one.signatures), DRAWS)
            both = (one.values, one.resolved)
            values, fine = (np.frombuffer(x, dtype=np.float32).reshape(shape) for x in both)
            for signature, row, near in zip(one.signatures, values, fine, strict=True):
                into.put_both(signature, row, near)
    except (OSError, msgspec.DecodeError, ValueError, KeyError):
        return False
    predicted.put(Drawn(base, normal, inside), whole, causes)
    return True


def _write(place: Path, predicted: Predicted) -> None:
    """Keep it if the folder can be written; written aside first, so never half."""
    kept = _KeptPredictions(
        predicted.draws.base.tobytes(),
        predicted.draws.normal.tobytes(),
        predicted.draws.inside.tobytes(),
        {
            name: _KeptQuantity(
                predicted.touching(name).tolist(),
                list(one.row),
                np.array(one.values).tobytes(),
                np.array(one.resolved).tobytes(),
            )
            for name, one in predicted.kept.items()
        },
    )
    aside = place.with_suffix(f".{os.getpid()}")
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        aside.write_bytes(msgspec.msgpack.encode(kept))
        aside.replace(place)
    except OSError:
        with suppress(OSError):
            aside.unlink()


def _array(data: bytes, rows: int) -> Floats:
    return np.frombuffer(data, dtype=np.float64).reshape(rows, DRAWS)
