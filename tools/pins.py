"""Copy the pins of ``constraints.txt`` into ``pyproject.toml``.

uv keeps to constraints only when they stand in ``[tool.uv]`` of the project
file; pip only when they stand in a file of their own. So the one is written
from the other, and ``tests/test_pins.py`` fails when they differ.
"""

from __future__ import annotations

import json
import re
from pathlib import Path

ROOT = Path(__file__).parents[1]
BLOCK = re.compile(r"^constraint-dependencies = \[\n.*?^\]\n", re.MULTILINE | re.DOTALL)


def block(pins: str) -> str:
    """Return the ``constraint-dependencies`` entry for the lines of ``pins``."""
    lines = "".join(f"    {json.dumps(line)},\n" for line in pins.splitlines() if line)
    return f"constraint-dependencies = [\n{lines}]\n"


def main() -> None:
    """Rewrite the block in ``pyproject.toml`` in place."""
    project = ROOT / "pyproject.toml"
    fresh = block((ROOT / "constraints.txt").read_text(encoding="utf-8"))
    text, count = BLOCK.subn(lambda _: fresh, project.read_text(encoding="utf-8"))
    if count != 1:
        message = f"pyproject.toml holds {count} constraint-dependencies blocks; write exactly one"
        raise SystemExit(message)
    project.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
