"""All that ``tubside pack check`` looks at in a pack, for whoever changes one."""

from __future__ import annotations

from dataclasses import dataclass

from tubside.errors import Problem
from tubside.machine.contradictions import Played, contradictions, played
from tubside.machine.measured import unfit_readings
from tubside.pack.check import check_pack
from tubside.pack.compiling import compile_pack
from tubside.pack.fault_model import FaultModel
from tubside.pack.reading import PackSource


@dataclass(frozen=True, slots=True)
class CheckedPack:
    """What is wrong and what may be; compiled and played where nothing is wrong."""

    errors: tuple[Problem, ...]
    warnings: tuple[Problem, ...]
    model: FaultModel | None = None
    cycles: Played | None = None


def checked_pack(source: PackSource, *, play: bool = True) -> CheckedPack:
    """Apply every rule; without ``play`` the machine is not played with each cause inside."""
    report = check_pack(source)
    errors = tuple(sorted([*report.errors, *unfit_readings(source)]))
    if errors:
        return CheckedPack(errors, report.warnings)
    model = compile_pack(source.pack, source.digest)
    cycles = played(source, model) if play else None
    if cycles is not None:
        errors = tuple(sorted(contradictions(source, model, cycles)))
    return CheckedPack(errors, report.warnings, model, cycles)
