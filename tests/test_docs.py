"""The pages tell everything that a user can type: commands, job-file keys, pack fields."""

from __future__ import annotations

import importlib
import inspect
import re
import runpy
from importlib.util import find_spec
from pathlib import Path
from types import ModuleType

import click
import msgspec
import pytest

import command_page
from tubside.pack import family_schema, machine_schema, reading_schema, schema
from tubside.service import job_file
from tubside.strict_yaml import convert, read_text

ROOT = Path(__file__).parents[1]
DOCS = ROOT / "docs"
PAGES = [*sorted(ROOT.glob("*.md")), *sorted(DOCS.glob("*.md"))]

CLI_IS_THERE = find_spec("tubside.cli") is not None and hasattr(
    importlib.import_module("tubside.cli"), "main"
)
needs_cli = pytest.mark.skipif(not CLI_IS_THERE, reason="the command line is not written yet")


def page(name: str) -> str:
    """Return the text of a page in docs."""
    return (DOCS / name).read_text(encoding="utf-8")


def sections(text: str) -> dict[str, str]:
    """Return heading -> text below it, of the third level."""
    parts = re.split(r"^#{2,3} (.+)$", text, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def structs(module: ModuleType) -> list[type[msgspec.Struct]]:
    """Return the structs that a module defines, bases without fields left out."""
    return [
        kind
        for _, kind in inspect.getmembers(module, inspect.isclass)
        if issubclass(kind, msgspec.Struct)
        and kind.__module__ == module.__name__
        and kind.__struct_fields__
    ]


def in_words(name: str) -> str:
    """Return a class name as the heading that describes it."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name).capitalize()


def fields(kind: type[msgspec.Struct]) -> list[str]:
    """Return the keys of a struct as they are typed."""
    return list(kind.__struct_encode_fields__)


PACK_MODULES = (schema, family_schema, machine_schema, reading_schema)
PACK_RECORDS = [kind for module in PACK_MODULES for kind in structs(module)]


@pytest.mark.parametrize("kind", PACK_RECORDS, ids=lambda kind: kind.__name__)
def test_pack_fields_are_described(kind: type[msgspec.Struct]) -> None:
    """Tests that pack.md has a section for each record and a row for each field."""
    text = sections(page("pack.md"))[in_words(kind.__name__)]
    told = re.findall(r"^\| `(\w+)` \|", text, re.MULTILINE)
    assert sorted(told) == sorted(fields(kind))


def test_the_pack_example_fits() -> None:
    """Tests that the example in pack.md is made of records the schema takes."""
    yaml = re.findall(r"^```yaml\n(.*?)^```", page("pack.md"), re.MULTILINE | re.DOTALL)[0]
    optional = [(field.name, field.type, None) for field in msgspec.structs.fields(schema.Pack)]
    part = msgspec.defstruct("Part", optional, forbid_unknown_fields=True)
    example = convert(read_text(yaml, "pack.md"), part)
    causes = example.causes  # type: ignore[attr-defined]  # made from Pack's fields
    assert list(causes) == ["drain-hose-kinked"]
    assert sum(causes["drain-hose-kinked"].reported_as.values()) == pytest.approx(1.0)


def test_job_file_keys_are_described() -> None:
    """Tests that job-file.md tells every key of a job file, and no other."""
    lists = page("job-file.md").partition("## All keys")[2]
    kinds = [kind for kind in structs(job_file) if kind.__name__ != "JobSource"]
    keys = {key for kind in kinds for key in fields(kind)}
    assert set(re.findall(r"`(\w+)`", lists)) == keys


@needs_cli
def test_commands_are_described() -> None:
    """Tests that commands.md is what the command line says of itself (else ``make commands``)."""
    main = importlib.import_module("tubside.cli").main
    assert page("commands.md") == command_page.page(main)
    mute = [
        f"{name} {parameter.name}"
        for name, command in command_page.walk(main, "tubside")
        for parameter in [command, *command.params]
        if isinstance(parameter, click.Command | click.Option) and not parameter.help
    ]
    assert mute == [], "give each command and option a help text"


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.name)
def test_links_lead_somewhere(path: Path) -> None:
    """Tests that every link to a file of the project has its file."""
    targets = re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", path.read_text(encoding="utf-8"))
    assert [target for target in targets if not (path.parent / target).exists()] == []


def test_readme_has_the_lines_behind_make() -> None:
    """Tests that README and setup page give the same two lines that make runs."""
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    assert "@$(RUN) --no-dev tubside demo" in makefile
    run = ".uv/bin/uv run --all-extras --no-dev tubside demo"
    lines = f"python3 -m pip install --target .uv uv\n{run}\n"
    assert lines in (ROOT / "README.md").read_text(encoding="utf-8")
    assert lines in page("setup.md")


def test_the_pages_need_no_network() -> None:
    """Tests that formulas are drawn by the browser itself, not by a script of another host."""
    settings = runpy.run_path(str(DOCS / "conf.py"))
    assert settings["html_math_renderer"] == "mathml"
    assert 'add_html_math_renderer("mathml"' in (DOCS / "formulas.py").read_text(encoding="utf-8")
