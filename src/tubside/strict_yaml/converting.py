"""From a text tree to typed records, telling every fault and not only the first.

msgspec stops at the first fault and, when lax, reads "null" as None; so the
declared types are walked here, and msgspec is left the leaves it knows best
(dates, decimals, enumerations, bounds stated in ``Annotated``).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar, cast, get_args

import msgspec

from tubside.errors import FileProblemsError, Problem
from tubside.strict_yaml import declared
from tubside.strict_yaml.declared import Shape
from tubside.strict_yaml.document import Document, Path, Tree, shape_of
from tubside.strict_yaml.spelling import or_one_of

T = TypeVar("T")


def convert(
    document: Document, kind: type[T], error: type[FileProblemsError] = FileProblemsError
) -> T:
    """Return the document as a ``kind``, or raise ``error`` with every problem found.

    Text fields keep their text, whatever it looks like. A number is finite and
    written with digits, a truth value is true, false, yes or no. Nothing stands
    for None: an optional field is left out.
    """
    walk = _Walk(document)
    value = walk.value(document.tree, kind, ())
    if walk.problems:
        raise error(sorted(walk.problems))
    return cast("T", value)


class _Wrong:
    """Stands for a value that could not be converted; its problem is noted."""


WRONG = _Wrong()


class _Walk:
    """Goes through tree and declared types together, and gathers problems."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.problems: list[Problem] = []
        self.ways: dict[Shape, Callable[[Tree, object, Path], object]] = {
            Shape.ANYTHING: lambda tree, _kind, _path: tree,
            Shape.BOUNDED: self._bounded,
            Shape.UNION: self._union,
            Shape.LITERAL: self._literal,
            Shape.SCALAR: self._scalar,
            Shape.STRUCT: self._struct,
            Shape.LIST: self._list,
            Shape.MAPPING: self._mapping,
            Shape.LEAF: self._leaf,
        }

    def value(self, tree: Tree, kind: object, path: Path) -> object:
        """Return ``tree`` as ``kind``, or WRONG."""
        return self.ways[declared.shape(kind)](tree, kind, path)

    def wrong(self, path: Path, what: str, mend: str) -> _Wrong:
        """Note a problem at ``path``."""
        self.problems.append(self.document.problem(path, what, mend))
        return WRONG

    def _scalar(self, tree: Tree, kind: object, path: Path) -> object:
        scalar = declared.SCALARS[kind]
        value = scalar.read(tree) if isinstance(tree, str) else None
        if value is None:
            what = f"{_name(path)} is {shape_of(tree)}, not {scalar.wanted}"
            return self.wrong(path, what, scalar.mend)
        return value

    def _literal(self, tree: Tree, kind: object, path: Path) -> object:
        by_text = {str(choice): choice for choice in get_args(kind)}
        return self._choice(tree, by_text, path)

    def _choice(self, tree: Tree, by_text: dict[str, object], path: Path) -> object:
        name = tree if isinstance(tree, str) else ""
        if name in by_text:
            return by_text[name]
        what = f"{_name(path)} cannot be {shape_of(tree)}"
        return self.wrong(path, what, or_one_of(name, by_text))

    def _union(self, tree: Tree, kind: object, path: Path) -> object:
        kinds = [each for each in get_args(kind) if each is not type(None)]
        fitting = [each for each in kinds if declared.fits(tree, each)]
        if isinstance(tree, dict) and len(fitting) > 1 and all(map(declared.tag_field, fitting)):
            return self._tagged(tree, fitting, path)
        known = len(self.problems)
        for each in fitting:
            del self.problems[known:]
            value = self.value(tree, each, path)
            if value is not WRONG:
                return value
        if fitting:
            return WRONG
        wanted = " or ".join(declared.wanted(each) for each in kinds)
        return self.wrong(path, f"{_name(path)} is {shape_of(tree)}", f"write {wanted}")

    def _tagged(self, tree: dict[str, Tree], kinds: list[object], path: Path) -> object:
        by_tag = declared.tags(kinds)
        field = str(declared.tag_field(kinds[0]))
        if field not in tree:
            what = f"{_name(path)} lacks '{field}'"
            return self.wrong(path, what, f"add '{field}', one of: {', '.join(by_tag)}")
        chosen = self._choice(tree[field], by_tag, (*path, field))
        return WRONG if chosen is WRONG else self._struct(tree, chosen, path)

    def _struct(self, tree: Tree, kind: object, path: Path) -> object:
        if not isinstance(tree, dict):
            what = f"{_name(path)} is {shape_of(tree)}"
            return self.wrong(path, what, f"write {declared.wanted(kind)}")
        before = len(self.problems)
        fields = declared.fields(kind)
        unused = [name for name in fields if name not in tree]
        values: dict[str, object] = {}
        for key, value in tree.items():
            if key in fields:
                values[fields[key].name] = self.value(value, fields[key].type, (*path, key))
            elif key != declared.tag_field(kind):
                mend = or_one_of(key, unused)
                self.wrong((*path, key), f"{_name(path)} has an unknown key '{key}'", mend)
        for name in unused:
            if fields[name].required:
                self.wrong(path, f"{_name(path)} lacks '{name}'", f"add '{name}: ...'")
        return WRONG if len(self.problems) > before else self._made(kind, values, path)

    def _made(self, kind: object, values: dict[str, object], path: Path) -> object:
        try:
            return declared.struct(kind)(**values)
        except (TypeError, ValueError) as wrong:
            return self.wrong(path, f"{_name(path)}: {wrong}", "mend this record")

    def _list(self, tree: Tree, kind: object, path: Path) -> object:
        if not isinstance(tree, list):
            return self.wrong(path, f"{_name(path)} is {shape_of(tree)}", "write a [list]")
        kinds = declared.item_kinds(kind, len(tree))
        if len(kinds) != len(tree):
            what = f"{_name(path)} has {len(tree)} entries"
            return self.wrong(path, what, f"write {len(kinds)}")
        made = [
            self.value(item, each, (*path, position))
            for position, (item, each) in enumerate(zip(tree, kinds, strict=True))
        ]
        return WRONG if WRONG in made else declared.collected(kind, made)

    def _mapping(self, tree: Tree, kind: object, path: Path) -> object:
        if not isinstance(tree, dict):
            what = f"{_name(path)} is {shape_of(tree)}"
            return self.wrong(path, what, "write 'key: value' pairs")
        key_kind, value_kind = get_args(kind) or (str, object)
        before = len(self.problems)
        made = {
            self.value(key, key_kind, (*path, key)): self.value(value, value_kind, (*path, key))
            for key, value in tree.items()
        }
        return WRONG if len(self.problems) > before else made

    def _bounded(self, tree: Tree, kind: object, path: Path) -> object:
        value = self.value(tree, get_args(kind)[0], path)
        return value if value is WRONG else self._leaf(value, kind, path)

    def _leaf(self, tree: object, kind: object, path: Path) -> object:
        try:
            return msgspec.convert(tree, cast("type[object]", kind), strict=False)
        except (msgspec.ValidationError, ValueError, TypeError) as wrong:
            what = f"{_name(path)} cannot be '{tree}'"
            return self.wrong(path, what, str(wrong).split(" - at ")[0].lower())


def _name(path: Path) -> str:
    return "'" + ".".join(str(part) for part in path) + "'" if path else "the file"
