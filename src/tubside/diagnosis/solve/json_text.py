"""JSON text as a tree with places, so that each problem can name its line.

The tree is that of :mod:`tubside.strict_yaml` (every scalar stays the text that was
typed), so its walk over declared types serves here too; ``quoted`` remembers which
scalars stood in quotation marks, because JSON keeps texts and numbers apart.
"""

from __future__ import annotations

import json
import re
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NoReturn

from tubside.errors import FileProblemsError, Problem
from tubside.strict_yaml import Document, Path, Place, Tree

MOST_CHARACTERS = 4_000_000
DEEPEST = 16

_TOKEN = re.compile(
    r"""[ \t\n\r]*(?:
    (?P<text>"(?:[^"\\\x00-\x1f]|\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4}))*")
    | (?P<bare>-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?(?![\w.+-])|true\b|false\b)
    | (?P<mark>[{}\[\]:,])
    | (?P<end>\Z)
    | (?P<wrong>[^ \t\n\r]\w*)
    )""",
    re.VERBOSE,
)
_FOREIGN = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff\ufffe\uffff]")
"""Characters that break a line, a terminal or a drawing when a name is shown."""

_MENDS = {
    "'": 'write texts in "double quotation marks"',
    "/": "JSON has no comments: remove it",
    "#": "JSON has no comments: remove it",
    "NaN": "write a number with digits",
    "Infinity": "write a number with digits",
    "-Infinity": "write a number with digits",
    "null": "leave the key out where there is nothing to say",
    '"': "close the text with a quotation mark on its line; write a backslash twice",
}


@dataclass(frozen=True, slots=True)
class JsonDocument:
    """A JSON text's tree with its places, and which scalars are texts in quotation marks."""

    document: Document
    quoted: frozenset[Path]


@dataclass(frozen=True, slots=True)
class _Token:
    kind: str
    text: str
    line: int


def read_json(text: str, file: str, error: type[FileProblemsError]) -> JsonDocument:
    """Return the tree of one JSON object.

    Raises
    ------
    FileProblemsError
        As ``error``: the first thing that is no JSON, or every key that stands twice
        and every name that cannot be shown, each with its line.
    """
    if len(text) > MOST_CHARACTERS:
        what = f"the file has {len(text)} characters, more than {MOST_CHARACTERS}"
        raise error([Problem(file, 1, what, "leave out what the problem does not need")])
    reader = _Reader(text, file)
    try:
        tree = reader.whole()
    except _NoJsonError as wrong:
        raise error([wrong.problem]) from None
    if reader.problems:
        raise error(sorted(reader.problems))
    return JsonDocument(Document(tree, reader.places), frozenset(reader.quoted))


class _NoJsonError(Exception):
    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        super().__init__(problem)


class _Reader:
    """Goes through the tokens once."""

    def __init__(self, text: str, file: str) -> None:
        self.file = file
        self.problems: list[Problem] = []
        self.places: dict[Path, Place] = {(): Place(file, 1)}
        self.quoted: set[Path] = set()
        self.tokens = _tokens(text)
        self.token = next(self.tokens)

    def whole(self) -> Tree:
        if self.token.kind == "end":
            self.refuse("the file is empty", "write one {object}")
        if self.token.text != "{":
            self.refuse(f"the file begins with {self.shown()}", "write one {object}")
        tree = self.value(())
        if self.token.kind != "end":
            self.refuse(f"{self.shown()} after the end of the object", "remove it")
        return tree

    def value(self, path: Path) -> Tree:
        token = self.token
        if len(path) > DEEPEST:
            self.refuse(f"nested more than {DEEPEST} deep", "flatten it")
        if token.kind not in {"text", "bare"} and token.text not in {"{", "["}:
            self.refuse(f"{self.shown()} where a value must stand", self.mend("write a value"))
        if token.text == "{":
            return self.mapping(path)
        if token.text == "[":
            return self.sequence(path)
        if token.kind == "bare":
            return self.take().text
        self.quoted.add(path)
        return self.name(self.take())

    def mapping(self, path: Path) -> dict[str, Tree]:
        tree: dict[str, Tree] = {}
        self.take()
        for _ in self.entries("}"):
            if self.token.kind != "text":
                mend = self.mend('write a key in "double quotation marks"')
                self.refuse(f"{self.shown()} where a key must stand", mend)
            token = self.take()
            key = self.name(token)
            if key in tree:
                first = self.places[(*path, key)].line
                what = f"'{key}' stands here twice (first in line {first})"
                self.problems.append(Problem(self.file, token.line, what, "keep one"))
            else:
                self.places[(*path, key)] = Place(self.file, token.line)
            if self.token.text != ":":
                self.refuse(f"{self.shown()} after the key '{key}'", "write a colon")
            self.take()
            tree[key] = self.value((*path, key))
        return tree

    def sequence(self, path: Path) -> list[Tree]:
        tree: list[Tree] = []
        self.take()
        for _ in self.entries("]"):
            place = (*path, len(tree))
            self.places[place] = Place(self.file, self.token.line)
            tree.append(self.value(place))
        return tree

    def entries(self, closing: str) -> Iterator[None]:
        """Once for each entry; takes commas and the closing bracket."""
        if self.token.text == closing:
            self.take()
            return
        while True:
            yield
            token = self.token
            if token.text not in {",", closing}:
                self.refuse(f"{self.shown()} after an entry", f"write a comma or {closing}")
            self.take()
            if token.text == closing:
                return

    def name(self, token: _Token) -> str:
        name: str = json.loads(token.text)
        if _FOREIGN.search(name):
            what = f"{name!a} holds a character that cannot be shown"
            self.problems.append(Problem(self.file, token.line, what, "remove it"))
        return name

    def take(self) -> _Token:
        token, self.token = self.token, next(self.tokens)
        return token

    def shown(self) -> str:
        return "the end of the file" if self.token.kind == "end" else f"'{self.token.text[:24]}'"

    def mend(self, otherwise: str) -> str:
        text = self.token.text
        return _MENDS.get(text, _MENDS.get(text[:1], otherwise))

    def refuse(self, what: str, mend: str) -> NoReturn:
        raise _NoJsonError(Problem(self.file, self.token.line, what, mend))


def _tokens(text: str) -> Iterator[_Token]:
    """Every token with its line; the end again and again."""
    starts = [0, *(found.end() for found in re.finditer("\n", text))]
    last, position = text.rstrip().count("\n") + 1, 0
    while True:
        found = _TOKEN.match(text, position)
        assert found is not None, "the last choice takes any character"
        kind = found.lastgroup or "wrong"
        position = found.end()
        line = min(bisect_right(starts, found.start(kind)), last)
        yield _Token(kind, "" if kind == "end" else found[kind], line)
