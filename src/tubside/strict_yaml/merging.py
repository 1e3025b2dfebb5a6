"""Several files as one document: their sections are joined, ids stay unique."""

from __future__ import annotations

from collections.abc import Sequence

from tubside.errors import FileProblemsError, Problem
from tubside.strict_yaml.document import Document, Path, Place, Tree, shape_of


def merge(
    documents: Sequence[Document], error: type[FileProblemsError] = FileProblemsError
) -> Document:
    """Join the top-level sections of ``documents``, in their order.

    A section that is a mapping may stand in several files, each adding ids of its
    own. An id, or a section that is no mapping, in two files is a problem that
    names both places.
    """
    if not documents:
        raise error([Problem("-", 1, "there is no file to read", "write at least one .yaml file")])
    joined = _Joined()
    for document in documents:
        if not isinstance(document.tree, dict):
            what = f"the file holds {shape_of(document.tree)}"
            joined.problems.append(document.problem((), what, "start with 'section:' keys"))
            continue
        for section, tree in document.tree.items():
            joined.add(document, section, tree)
    if joined.problems:
        raise error(sorted(joined.problems))
    joined.places[()] = documents[0].place(())
    return Document(joined.tree, joined.places)


class _Joined:
    """The sections so far; a path keeps the place where it stood first."""

    def __init__(self) -> None:
        self.tree: dict[str, Tree] = {}
        self.places: dict[Path, Place] = {}
        self.problems: list[Problem] = []

    def add(self, document: Document, section: str, tree: Tree) -> None:
        present = self.tree.get(section)
        if present is None:
            self.tree[section] = dict(tree) if isinstance(tree, dict) else tree
        elif isinstance(present, dict) and isinstance(tree, dict):
            for name, value in tree.items():
                if name in present:
                    self._twice(document, (section, name))
                present.setdefault(name, value)
        else:
            self._twice(document, (section,))
            return
        for path, place in document.places.items():
            if path[:1] == (section,):
                self.places.setdefault(path, place)

    def _twice(self, document: Document, path: Path) -> None:
        name = ": ".join(str(part) for part in path)
        what = f"'{name}' stands in two files, here and in {self.places[path]}"
        self.problems.append(document.problem(path, what, "keep one, or give one another id"))
