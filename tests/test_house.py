"""The house rules that a machine can check."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import tubside

ROOT = Path(__file__).parents[1]
SOURCES = sorted((ROOT / "src").rglob("*.py"))
LEFT_OUT = {".git", ".uv", ".venv", "dist", "build", "_build", "__pycache__", "uv.lock"}
CACHES = re.compile(r"\.(mypy|ruff|pytest)_cache|\.hypothesis")
BINARY = {".png", ".gif", ".mp4", ".wav", ".pdf", ".woff2", ".pyc", ".so", ".sqlite"}

Function = ast.FunctionDef | ast.AsyncFunctionDef
Definition = Function | ast.ClassDef

# Written in pieces, so that this file does not hold what it looks for.
NOT_IN_FILES = {
    "a folder of one machine": re.compile(
        r"(?<![\w.])/(?:" + "|".join(["wo" + "rk", "t" + "mp", "ro" + "ot", "ho" + "me"]) + r")/\w"
    ),
    "a folder beside the project": re.compile(r"\.\./" + "sha" + "red"),
    "a package registry": re.compile(
        "|".join(
            ["py" + r"pi\.(?:org|python)", "python" + r"hosted", "np" + r"mjs", "/sim" + "ple/"]
        )
    ),
    "a registry setting": re.compile("|".join(["index" + "-url", r"registry" + r" = \{"])),
}


@cache
def tree(path: Path) -> ast.Module:
    """Return the parsed source file."""
    return ast.parse(path.read_text(encoding="utf-8"))


def functions(path: Path) -> Iterator[Function]:
    """Yield every function and method of a source file."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


def body_lines(function: Function) -> int:
    """Return a function's length in lines, without its docstring."""
    doc = function.body[0] if ast.get_docstring(function) is not None else None
    doc_lines = 0 if doc is None else (doc.end_lineno or doc.lineno) - doc.lineno + 1
    return (function.end_lineno or function.lineno) - function.lineno + 1 - doc_lines


def public(nodes: list[ast.stmt]) -> Iterator[Definition]:
    """Yield the public classes, functions and methods among ``nodes``."""
    for node in nodes:
        if isinstance(node, Definition) and not node.name.startswith("_"):
            yield node
            if isinstance(node, ast.ClassDef):
                yield from public(node.body)


def kept_files(folder: Path = ROOT) -> Iterator[Path]:
    """Yield the text files of the project, without what tools leave behind."""
    for path in sorted(folder.iterdir()):
        if path.name in LEFT_OUT or CACHES.fullmatch(path.name) or path.suffix in BINARY:
            continue
        if path.is_dir():
            yield from kept_files(path)
        else:
            yield path


def place(path: Path, line: int = 1) -> str:
    """Return where something stands, for a message."""
    return f"{path.relative_to(ROOT)}:{line}"


def test_files_are_short() -> None:
    """Tests that no source file is longer than 300 lines."""
    lengths = {place(path): len(path.read_text(encoding="utf-8").splitlines()) for path in SOURCES}
    assert {where: n for where, n in lengths.items() if n > 300} == {}


def test_functions_are_short() -> None:
    """Tests that no function is longer than 60 lines, and that half have at most 8."""
    found = [
        (body_lines(f), f"{place(path, f.lineno)} {f.name}")
        for path in SOURCES
        for f in functions(path)
    ]
    assert [long for long in sorted(found, reverse=True) if long[0] > 60] == []
    lengths = sorted(length for length, _ in found)
    assert lengths[len(lengths) // 2] <= 8


def test_module_names_say_something() -> None:
    """Tests that no module has a name under which anything would fit."""
    empty = {"utils", "util", "helpers", "helper", "common", "manager", "misc", "tools"}
    assert [place(path) for path in SOURCES if empty & set(path.with_suffix("").parts[-2:])] == []


def test_public_names_are_described() -> None:
    """Tests that every module, public class, function and method has a docstring."""
    bare = [place(path) for path in SOURCES if not ast.get_docstring(tree(path))]
    bare += [
        f"{place(path, node.lineno)} {node.name}"
        for path in SOURCES
        for node in public(tree(path).body)
        if not ast.get_docstring(node)
    ]
    assert bare == []


def test_tests_are_described() -> None:
    """Tests that every test says in a line what it tests."""
    bare = [
        f"{place(path, node.lineno)} {node.name}"
        for path in sorted((ROOT / "tests").rglob("test_*.py"))
        for node in functions(path)
        if node.name.startswith("test_") and not ast.get_docstring(node)
    ]
    assert bare == []


@pytest.mark.parametrize("what", NOT_IN_FILES)
def test_nothing_of_one_machine(what: str) -> None:
    """Tests that no file holds what is true on one machine only."""
    found = [
        f"{place(path, number)}: {line.strip()[:80]}"
        for path in kept_files()
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if NOT_IN_FILES[what].search(line)
    ]
    assert found == [], f"take out {what}"


@pytest.mark.parametrize(
    ("what", "line"),
    [
        ("a folder of one machine", "see /wo" + "rk/main"),
        ("a folder of one machine", "'/t" + "mp/x'"),
        ("a folder beside the project", "cat ../sha" + "red/page.md"),
        ("a package registry", "https://py" + "pi.org"),
        ("a registry setting", "pip --index" + "-url x"),
    ],
)
def test_the_patterns_find(what: str, line: str) -> None:
    """Tests that each pattern finds what it is there for, and leaves web addresses alone."""
    assert NOT_IN_FILES[what].search(line)
    assert not NOT_IN_FILES[what].search("https://example.org/home/page and src/wo" + "rk/x")


def test_types_are_shipped() -> None:
    """Tests that the package tells type checkers that it is typed."""
    assert (ROOT / "src/tubside/py.typed").is_file()


def test_version_is_told_once() -> None:
    """Tests that package, project file and changelog agree on the version."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert project["project"]["version"] == tubside.__version__
    changes = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    assert re.search(rf"^## \[?{re.escape(tubside.__version__)}\]?", changes, re.MULTILINE)
