"""A pack's folder is read whole, with places and a content hash."""

from __future__ import annotations

from pathlib import Path

import pytest

from tubside.errors import PackError
from tubside.pack.reading import PackSource, digest_of, read_pack


def test_all_files_of_the_folder_are_joined(small_pack: PackSource) -> None:
    """Tests that causes of several files stand in one pack, each with its own place."""
    causes = small_pack.pack.causes
    assert {"tap-closed", "pump-failed", "belt-worn"} <= set(causes)
    assert len(causes) == 10
    assert causes["belt-worn"].variants == {"drive": ["belt"]}
    place = small_pack.document.place(("causes", "belt-worn", "weight"))
    assert Path(place.file).name == "drive.yaml"
    line = Path(place.file).read_text(encoding="utf-8").splitlines()[place.line - 1]
    assert line.strip() == "weight: 60"


def test_sub_folders_are_not_part_of_the_pack(small_pack_copy: Path) -> None:
    """Tests that panel files in a sub-folder change neither the pack nor its hash."""
    before = read_pack(small_pack_copy)
    (small_pack_copy / "models").mkdir()
    (small_pack_copy / "models" / "some.yaml").write_text("not: [a pack", encoding="utf-8")
    assert read_pack(small_pack_copy).digest == before.digest


def test_the_hash_is_of_names_and_bytes(small_pack_copy: Path) -> None:
    """Tests that a byte, a name or a moved text changes the hash, and the order does not."""
    first, second = Path("a.yaml"), Path("b.yaml")
    whole = digest_of({first: b"x", second: b"y"})
    assert whole == digest_of({second: b"y", first: b"x"})
    assert len(whole) == 64
    others = [{first: b"x", second: b"z"}, {first: b"y", second: b"x"}, {first: b"xy", second: b""}]
    assert len({whole, *map(digest_of, others)}) == 4
    before = read_pack(small_pack_copy).digest
    path = small_pack_copy / "water.yaml"
    path.write_text(path.read_text(encoding="utf-8") + "# more\n", encoding="utf-8")
    assert read_pack(small_pack_copy).digest != before


def test_problems_of_several_files_are_told_at_once(small_pack_copy: Path) -> None:
    """Tests that syntax errors of two files come in one PackError."""
    for name in ("water", "drain"):
        (small_pack_copy / f"{name}.yaml").write_text("causes: {a: 1", encoding="utf-8")
    (small_pack_copy / "drive.yaml").write_bytes(b"\xff")
    with pytest.raises(PackError) as caught:
        read_pack(small_pack_copy)
    files = [Path(problem.file).stem for problem in caught.value.problems]
    assert files == ["drain", "drive", "water"]


def test_an_id_in_two_files_is_told(small_pack_copy: Path) -> None:
    """Tests that a cause that stands in two files is a problem with both places."""
    (small_pack_copy / "more.yaml").write_text("causes:\n  tap-closed: {}\n", encoding="utf-8")
    with pytest.raises(PackError, match=r"water\.yaml:3: .*more\.yaml:2"):
        read_pack(small_pack_copy)


@pytest.mark.parametrize("name", ["empty", "missing"])
def test_a_folder_without_a_pack(tmp_path: Path, name: str) -> None:
    """Tests that an empty or missing folder says to name a pack's folder."""
    (tmp_path / "empty").mkdir()
    with pytest.raises(PackError, match="name the folder of a pack"):
        read_pack(tmp_path / name)
