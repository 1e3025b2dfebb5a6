"""A machine for the small pack: every parameter and limit somewhere inside what can be."""

from __future__ import annotations

from pathlib import Path

from tubside.pack.parameters import WASHING


def machine_yaml(**own: str) -> str:
    """Return the sections ``machine`` and ``controller``; ``own`` are entries to write instead."""
    lines = ["machine:"]
    for name, of in WASHING.parameters.items():
        value = 1.0 if (of.low, of.high) == (0.0, 1.0) else (of.low + of.high) / 2
        unit = "" if of.unit == "1" else f" {of.unit}"
        lines.append(f"  {name}: {own.get(name, f'{{value: {value:.9g}{unit}, source: cp}}')}")
    lines.append("controller:")
    for name, limit in WASHING.limits.items():
        unit = "" if limit.unit == "1" else f" {limit.unit}"
        usual = f"{{value: {(limit.low + limit.high) / 2:.9g}{unit}, source: cp}}"
        lines.append(f"  {name}: {own.get(name, usual)}")
    return "\n".join(lines) + "\n"


def add_machine(folder: Path, **own: str) -> None:
    """Write the machine into a copy of the small pack."""
    (folder / "machine.yaml").write_text(machine_yaml(**own), encoding="utf-8")
