"""Reading a model's panel file: strict YAML, the declared shape, then the checks."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path

from tubside import strict_yaml
from tubside.errors import PanelError
from tubside.panel.checking import PackNames, problems
from tubside.panel.schema import Panel


def read_panel(
    path: Path,
    conditions: Collection[str],
    *,
    variants: Mapping[str, Collection[str]] | None = None,
    family: str | None = None,
    file: str | None = None,
    parts: Collection[str] | None = None,
) -> Panel:
    """The panel in the file at ``path``.

    Parameters
    ----------
    path : Path
        A UTF-8 YAML file, named after the model.
    conditions : Collection[str]
        Ids of the pack's conditions.
    variants : Mapping[str, Collection[str]], optional
        Axis -> values of the pack; left out, the plate's variants are not checked.
    family : str, optional
        The pack's family; left out, it is not checked.
    file : str, optional
        How to call the file in problems; its path otherwise.
    parts : Collection[str], optional
        Ids of the pack's part kinds; left out, those of the fits are not checked.

    Raises
    ------
    PanelError
        with every problem found: file and line, what, and how to mend it
    """
    document = strict_yaml.read_file(path, file, PanelError)
    return _checked(document, PackNames(conditions, variants, family, parts))


def parse_panel(
    text: str,
    file: str,
    conditions: Collection[str],
    *,
    variants: Mapping[str, Collection[str]] | None = None,
    family: str | None = None,
    parts: Collection[str] | None = None,
) -> Panel:
    """Like :func:`read_panel`, from the text of a file."""
    document = strict_yaml.read_text(text, file, PanelError)
    return _checked(document, PackNames(conditions, variants, family, parts))


def _checked(document: strict_yaml.Document, names: PackNames) -> Panel:
    panel = strict_yaml.convert(document, Panel, PanelError)
    found = [
        document.problem(wrong.path, wrong.what, wrong.mend) for wrong in problems(panel, names)
    ]
    if found:
        raise PanelError(sorted(set(found)))
    return panel
