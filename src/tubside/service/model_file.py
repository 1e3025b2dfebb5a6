"""The file of a model from anywhere, checked by the pack of the family it names."""

from __future__ import annotations

from pathlib import Path

from tubside import strict_yaml
from tubside.errors import PanelError, Problem, TubsideError
from tubside.pack.home import pack_folder
from tubside.pack.loading import load_pack
from tubside.panel.reading import parse_panel
from tubside.panel.schema import Panel
from tubside.strict_yaml.reading import decoded


def checked_panel(text: str, file: str, packs: Path | None = None) -> Panel:
    """A panel file's text, checked by the names of its own family's pack.

    Raises
    ------
    PanelError
        With every problem found.
    """
    document = strict_yaml.read_text(text, file, PanelError)
    panel = strict_yaml.convert(document, Panel, PanelError)
    try:
        pack = load_pack(pack_folder(panel.family, packs)).pack
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


def read_model(path: Path, packs: Path | None = None) -> Panel:
    """The panel in a model's file, checked as :func:`checked_panel` does."""
    try:
        content = path.read_bytes()
    except OSError as wrong:
        what = f"cannot be read ({wrong.strerror or wrong})"
        raise PanelError([Problem(path.name, 1, what, "check its permissions")]) from wrong
    return checked_panel(decoded(content, path.name, PanelError), path.name, packs)
