"""A new family begins with files that check clean and leave no field unexplained."""

from __future__ import annotations

import inspect
import re
from pathlib import Path

import msgspec
import pytest

from tubside.errors import NewFamilyError
from tubside.pack import family_schema, machine_schema, reading_schema, schema
from tubside.pack.check import check_pack
from tubside.pack.compiling import compile_pack
from tubside.pack.new_family import begin_family, skeleton
from tubside.pack.reading import read_pack

MODULES = (schema, family_schema, machine_schema, reading_schema)
FIELDS = sorted(
    {
        field.encode_name
        for module in MODULES
        for _, kind in inspect.getmembers(module, inspect.isclass)
        if issubclass(kind, msgspec.Struct) and kind.__module__ == module.__name__
        for field in msgspec.structs.fields(kind)
    }
)


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of a family just begun."""
    return begin_family("drying_cabinet", tmp_path_factory.mktemp("packs") / "own")


def test_it_checks_clean_and_compiles(begun: Path) -> None:
    """Tests that there is neither error nor warning, and that beliefs can be computed."""
    source = read_pack(begun)
    report = check_pack(source)
    assert (report.errors, report.warnings) == ((), ())
    assert source.pack.family == "drying_cabinet"
    assert source.pack.title == "Drying cabinet"
    assert len(compile_pack(source.pack, source.digest).names.causes) == 3


@pytest.mark.parametrize("field", FIELDS)
def test_every_field_stands_there(field: str) -> None:
    """Tests that no field of a pack is left out, be it in a comment."""
    texts = "\n".join(skeleton().values())
    assert re.search(rf"(^|[\s{{#]){re.escape(field)}:", texts)


def test_what_is_there_is_never_touched(begun: Path) -> None:
    """Tests that a second time is refused and changes no byte."""
    before = {path: path.read_bytes() for path in begun.rglob("*") if path.is_file()}
    with pytest.raises(NewFamilyError, match="there already"):
        begin_family("drying_cabinet", begun.parent)
    assert {path: path.read_bytes() for path in begun.rglob("*") if path.is_file()} == before


@pytest.mark.parametrize("name", ["", "Dryer", "../dryer", "a-b", "1st", "a" * 41, "a_", "a\n"])
def test_what_is_no_id_is_refused(name: str, tmp_path: Path) -> None:
    """Tests names that are none, also such as would leave the folder."""
    with pytest.raises(NewFamilyError, match="no id"):
        begin_family(name, tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    """Tests that a file in the way gives an error of ours."""
    (tmp_path / "packs").write_text("a file", encoding="utf-8")
    with pytest.raises(NewFamilyError):
        begin_family("dryer", tmp_path / "packs" / "deeper")
