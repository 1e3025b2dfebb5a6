"""Dependencies point down only: no upward import, no circle, anywhere in the package.

Every import statement counts, also those inside functions and those made only
for type checking.
"""

from __future__ import annotations

import ast
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

SRC = Path(__file__).parents[1] / "src"

LAYERS: tuple[tuple[str, ...], ...] = (
    ("__main__", "cli", "web", "guide"),
    ("service",),
    ("store", "documents"),
    ("learning", "trial"),
    ("kit", "day", "economics", "safety"),
    ("diagnosis",),
    ("recordings",),
    ("machine",),
    ("pack", "panel"),
    ("physics",),
    ("strict_yaml", "quantities", "money", "errors"),
)
HEIGHT = {name: -depth for depth, layer in enumerate(LAYERS) for name in layer}

Arrows = dict[str, set[str]]


def module_name(path: Path, src: Path) -> str:
    """Return the dotted name of the module in ``path``."""
    parts = path.relative_to(src).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def base_of(node: ast.ImportFrom, importer: str, *, is_package: bool) -> str:
    """Return the absolute name of the module that a ``from`` import names."""
    if not node.level:
        return node.module or ""
    steps_up = node.level - is_package
    parts = importer.split(".")[: -steps_up or None]
    return ".".join([*parts, *([node.module] if node.module else [])])


def imported_names(path: Path, importer: str) -> set[str]:
    """Return all dotted names that the file's import statements may mean."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = base_of(node, importer, is_package=path.name == "__init__.py")
            names |= {f"{base}.{alias.name}" for alias in node.names}
    return names


def nearest_module(name: str, modules: set[str]) -> str | None:
    """Return the longest leading part of ``name`` that is a module here."""
    while name and name not in modules:
        name = name.rpartition(".")[0]
    return name or None


def import_arrows(src: Path) -> Arrows:
    """Return module -> modules of the same package that it imports."""
    files = {module_name(path, src): path for path in src.glob("tubside/**/*.py")}
    arrows: Arrows = {}
    for module, path in files.items():
        targets = {nearest_module(name, set(files)) for name in imported_names(path, module)}
        arrows[module] = {name for name in targets if name is not None and name != module}
    return arrows


def unit(module: str) -> str:
    """Return the part of the house a module belongs to; "" for the package itself."""
    return module.split(".")[1] if "." in module else ""


def unit_arrows(arrows: Arrows) -> Arrows:
    """Return the arrows between parts of the house, those inside a part left out."""
    merged: Arrows = {}
    for module, targets in arrows.items():
        merged.setdefault(unit(module), set()).update(unit(target) for target in targets)
    return {name: targets - {name, ""} for name, targets in merged.items() if name}


def upward(arrows: Arrows) -> list[str]:
    """Return the imports that point up, in words."""
    return sorted(
        f"{module} imports {target}, which stands above it"
        for module, targets in arrows.items()
        for target in targets
        if unit(module) and unit(target) and HEIGHT[unit(module)] < HEIGHT[unit(target)]
    )


def circle(arrows: Arrows) -> list[str]:
    """Return the names along one circle, first name repeated; empty when there is none."""
    try:
        TopologicalSorter(arrows).prepare()
    except CycleError as error:
        return [str(name) for name in reversed(error.args[1])]
    return []


def unknown_units(arrows: Arrows) -> list[str]:
    """Return the top-level modules that no layer lists."""
    return sorted({unit(module) for module in arrows} - HEIGHT.keys() - {""})


def test_every_module_has_its_layer() -> None:
    """Tests that each top-level module stands on a layer."""
    strangers = unknown_units(import_arrows(SRC))
    assert not strangers, f"add {strangers} to LAYERS in {Path(__file__).name}"


def test_no_import_points_up() -> None:
    """Tests that no module imports from a layer above its own."""
    assert upward(import_arrows(SRC)) == []


def test_no_circle() -> None:
    """Tests that neither the parts of the house nor its modules import in a circle."""
    arrows = import_arrows(SRC)
    assert circle(unit_arrows(arrows)) == []
    assert circle(arrows) == []


def test_package_root_imports_nothing() -> None:
    """Tests that importing any module does not load others by way of the root."""
    assert import_arrows(SRC)["tubside"] == set()


def plant(tmp_path: Path, **files: str) -> Arrows:
    """Write a small package (``__`` in a name is a folder) and return its arrows."""
    for name, text in {"__init__": "", **files}.items():
        parts = [name] if name.startswith("__") else name.split("__")
        path = tmp_path.joinpath("tubside", *parts).with_suffix(".py")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return import_arrows(tmp_path)


@pytest.mark.parametrize(
    "statement",
    [
        "from tubside.diagnosis import belief",
        "import tubside.diagnosis.belief",
        "from ..diagnosis.belief import update",
        "from .. import diagnosis",
        "def late():\n    from tubside.diagnosis.belief import update",
        "if TYPE_CHECKING:\n    from tubside import diagnosis",
    ],
)
def test_an_upward_arrow_is_found(tmp_path: Path, statement: str) -> None:
    """Tests that each way to write an upward import is found, also inside a function."""
    arrows = plant(tmp_path, pack__reading=statement, diagnosis="", diagnosis__belief="")
    found = upward(arrows)
    assert len(found) == 1
    assert found[0].startswith("tubside.pack.reading imports tubside.diagnosis")


def test_a_downward_arrow_is_fine(tmp_path: Path) -> None:
    """Tests that imports downwards, sideways and from outside are left alone."""
    arrows = plant(
        tmp_path,
        cli="import numpy\nfrom tubside import diagnosis, __version__",
        diagnosis="from tubside.pack import panel_of",
        pack="from tubside import panel",
        panel="",
    )
    assert upward(arrows) == []
    assert circle(arrows) == []
    assert arrows["tubside.cli"] == {"tubside", "tubside.diagnosis"}


def test_a_circle_of_one_layer_is_found(tmp_path: Path) -> None:
    """Tests that two parts on one layer may not import each other, by whatever modules."""
    arrows = plant(
        tmp_path,
        pack__reading="from tubside.panel import drawing",
        pack__names="",
        panel__drawing="",
        panel__lamps="def late():\n    from tubside.pack.names import NAMES",
    )
    assert circle(arrows) == []
    found = circle(unit_arrows(arrows))
    assert found[0] == found[-1]
    assert set(found) == {"pack", "panel"}


def test_a_circle_inside_a_part_is_found(tmp_path: Path) -> None:
    """Tests that modules of one part may not import in a circle."""
    arrows = plant(
        tmp_path,
        pack__a="from . import b",
        pack__b="from .c import x",
        pack__c="from tubside.pack.a import y",
    )
    assert set(circle(arrows)) == {"tubside.pack.a", "tubside.pack.b", "tubside.pack.c"}


def test_a_stranger_is_found(tmp_path: Path) -> None:
    """Tests that a top-level module without a layer is named."""
    assert unknown_units(plant(tmp_path, attic="", money="")) == ["attic"]
