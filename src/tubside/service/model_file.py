"""The file of a model from anywhere, checked by the pack of the family it names.

The pack is the one with the shop's layer on it: a model may name what the shop added.
"""

from __future__ import annotations

from pathlib import Path

from tubside import strict_yaml
from tubside.errors import PanelError, Problem, TubsideError
from tubside.panel.reading import parse_panel
from tubside.panel.schema import Panel
from tubside.service.layered_pack import layered_pack
from tubside.strict_yaml.reading import decoded


def checked_panel(
    text: str, file: str, packs: Path | None = None, layers: Path | None = None
) -> Panel:
    """A panel file's text, checked by the names of its own family's pack.

    ``layers`` is the folder of the shop's own changes, whose conditions, variants and part
    kinds count as the pack's.

    Raises
    ------
    PanelError
        With every problem found.
    """
    document = strict_yaml.read_text(text, file, PanelError)
    panel = strict_yaml.convert(document, Panel, PanelError)
    try:
        pack = layered_pack(panel.family, packs, layers).loaded.pack
    except TubsideError as wrong:
        told = document.problem(("family",), str(wrong), "write a family there is a pack for")
        raise PanelError([told]) from None
    variants = {axis: list(variant.values) for axis, variant in pack.variants.items()}
    return parse_panel(
        text,
        file,
        pack.conditions,
        variants=variants,
        family=pack.family,
        parts=pack.parts,
    )


def read_model(path: Path, packs: Path | None = None, layers: Path | None = None) -> Panel:
    """The panel in a model's file, checked as :func:`checked_panel` does."""
    try:
        content = path.read_bytes()
    except OSError as wrong:
        what = f"cannot be read ({wrong.strerror or wrong})"
        raise PanelError([Problem(path.name, 1, what, "check its permissions")]) from wrong
    text = decoded(content, path.name, PanelError)
    return checked_panel(text, path.name, packs, layers)
