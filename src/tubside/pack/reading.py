"""Reading a pack's folder: all its YAML files as one typed record."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from tubside.errors import FileProblemsError, PackError, Problem
from tubside.pack.schema import Pack
from tubside.strict_yaml import Document, convert, merge, read_text
from tubside.strict_yaml.reading import decoded


@dataclass(frozen=True, slots=True)
class PackSource:
    """A pack as written: its records, the place of each, and its content hash."""

    pack: Pack
    document: Document
    digest: str


def read_pack(folder: Path) -> PackSource:
    """Read the pack in ``folder``; sub-folders (``models``) are not part of it.

    Raises
    ------
    PackError
        With every problem of every file: syntax first, then ids that stand twice,
        then records that do not fit :class:`tubside.pack.schema.Pack`.
    """
    files = contents(folder)
    documents: list[Document] = []
    problems: list[Problem] = []
    for path, data in files.items():
        try:
            text = decoded(data, str(path), PackError)
            documents.append(read_text(text, str(path), PackError))
        except FileProblemsError as wrong:
            problems += wrong.problems
    if problems:
        raise PackError(problems)
    document = merge(documents, PackError)
    return PackSource(convert(document, Pack, PackError), document, digest_of(files))


def digest_of(files: dict[Path, bytes]) -> str:
    """Return the SHA-256 [hex] over the sorted names and bytes of the files."""
    whole = sha256()
    for path in sorted(files, key=lambda path: path.name):
        whole.update(f"{path.name}\0{len(files[path])}\0".encode())
        whole.update(files[path])
    return whole.hexdigest()


def contents(folder: Path) -> dict[Path, bytes]:
    """Return the bytes of each YAML file of a pack, sorted by name."""
    paths = sorted(folder.glob("*.yaml"), key=lambda path: path.name)
    if not paths:
        what = "holds no .yaml file" if folder.is_dir() else "is not a folder"
        raise PackError([Problem(str(folder), 1, what, "name the folder of a pack")])
    try:
        return {path: path.read_bytes() for path in paths}
    except OSError as wrong:
        what = f"cannot be read ({wrong.strerror})"
        raise PackError([Problem(str(wrong.filename), 1, what, "check its permissions")]) from wrong
