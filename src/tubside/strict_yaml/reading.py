"""From YAML text to a text tree with places, refusing what surprises.

The events of PyYAML's parser (the C one where it was built) are read directly:
they still show anchors and tags, and need no recursion in the parser.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path as FilePath

import yaml

from tubside.errors import FileProblemsError, Problem
from tubside.strict_yaml.document import Document, Path, Place, Tree

MOST_CHARACTERS = 2_000_000
MOST_NODES = 200_000
DEEPEST = 24

_Loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)

MENDS = (
    ("mapping values are not allowed", "put a text that holds ': ' in quotes, or mend the indent"),
    ("could not find expected ':'", "write 'key: value', with a space after the colon"),
    ("did not find expected key", "give all keys of a record the same indent; close quotes"),
    ("cannot start any token", "put a text that starts with this character in quotes"),
    ("unexpected end of stream", "close the quote or bracket that was opened"),
    ("expected ',' or", "separate entries with commas and close the bracket"),
    ("escape", "use 'single quotes' where a backslash stands for itself"),
)
BREAK = re.compile("\r\n|[\n\r\x85\u2028\u2029]")  # what YAML counts as the end of a line
MEND_SYNTAX = "check indent, quotes and brackets here and on the line before"


def read_text(text: str, file: str, error: type[FileProblemsError] = FileProblemsError) -> Document:
    """Return the text tree of one YAML document.

    Parameters
    ----------
    text : str
        The whole file.
    file : str
        How to call the file in problems.
    error : type
        Which error to raise; it carries every problem found.

    Returns
    -------
    Document
        An empty file, or one with comments only, gives an empty mapping.
    """
    if len(text) > MOST_CHARACTERS:
        what = f"the file has {len(text)} characters, more than {MOST_CHARACTERS}"
        raise error([Problem(file, 1, what, "split it into several files")])
    reader = _Reader(file)
    try:
        text.encode()
        reader.stream(_events(text))
    except _TooMuchError as too_much:
        reader.problems.append(too_much.problem)
    except yaml.YAMLError as wrong:
        reader.problems.append(_syntax_problem(wrong, text, file))
    except UnicodeEncodeError as wrong:
        line = text.count("\n", 0, wrong.start) + 1
        reader.problems.append(Problem(file, line, "half a character", "save the file as UTF-8"))
    if reader.problems:
        raise error(sorted(reader.problems))
    return Document(reader.tree, reader.places)


def read_file(
    path: FilePath, file: str | None = None, error: type[FileProblemsError] = FileProblemsError
) -> Document:
    """Read a UTF-8 file as :func:`read_text` does; ``file`` names it in problems."""
    name = file or str(path)
    try:
        data = path.read_bytes()
    except OSError as wrong:
        what = f"cannot be read ({wrong.strerror or wrong})"
        raise error([Problem(name, 1, what, "check the path and its permissions")]) from wrong
    return read_text(decoded(data, name, error), name, error)


def decoded(data: bytes, file: str, error: type[FileProblemsError] = FileProblemsError) -> str:
    """Return the text of UTF-8 bytes; a wrong byte is told with its line."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        line = data.count(b"\n", 0, wrong.start) + 1
        what = f"byte {data[wrong.start]:#04x} is not UTF-8"
        raise error([Problem(file, line, what, "save the file as UTF-8")]) from wrong


class _TooMuchError(Exception):
    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        super().__init__(problem)


class _Reader:
    """Builds the tree from events and gathers problems on the way."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.problems: list[Problem] = []
        self.places: dict[Path, Place] = {(): Place(file, 1)}
        self.tree: Tree = {}
        self.nodes = 0

    def stream(self, events: Iterator[yaml.Event]) -> None:
        documents = 0
        for event in events:
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                self._check_document(event, documents)
            elif isinstance(event, yaml.NodeEvent):
                tree = self.node(event, events, ())
                if documents == 1 and not _is_empty(event):
                    self.tree = tree

    def node(self, event: yaml.Event, events: Iterator[yaml.Event], path: Path) -> Tree:
        self.nodes += 1
        if self.nodes > MOST_NODES:
            raise _TooMuchError(self._problem(event, "too many entries", "split the file"))
        if len(path) > DEEPEST:
            what = f"nested more than {DEEPEST} deep"
            raise _TooMuchError(self._problem(event, what, "flatten it"))
        self.places.setdefault(path, Place(self.file, _line(event)))
        self._check_plain(event)
        if isinstance(event, yaml.MappingStartEvent):
            return self._mapping(events, path)
        if isinstance(event, yaml.SequenceStartEvent):
            return self._sequence(events, path)
        if path and _is_empty(event):
            what = f"'{path[-1]}' has no value" if isinstance(path[-1], str) else "an empty entry"
            mend = 'write one ("" for no text, [] or {} for none) or remove the key'
            self._add(event, what, mend)
        return event.value if isinstance(event, yaml.ScalarEvent) else ""

    def _mapping(self, events: Iterator[yaml.Event], path: Path) -> dict[str, Tree]:
        tree: dict[str, Tree] = {}
        for event in events:
            if isinstance(event, yaml.MappingEndEvent):
                break
            key = self._key(event, events, path)
            known = key in tree
            if known:
                first = self.places[(*path, key)].line
                self._add(event, f"'{key}' stands here twice (first in line {first})", "keep one")
            else:
                self.places[(*path, key)] = Place(self.file, _line(event))
            value = self.node(next(events), events, (*path, key))
            if not known:
                tree[key] = value
        return tree

    def _key(self, event: yaml.Event, events: Iterator[yaml.Event], path: Path) -> str:
        if not isinstance(event, yaml.ScalarEvent):
            self._add(event, "a key that is not a text", "use a plain word as the key")
            self.node(event, events, (*path, "?"))
            return f"?{self.nodes}"
        self._check_plain(event)
        if event.value == "<<":
            self._add(event, "a merge key '<<'", "write the keys out")
        if _is_empty(event):
            self._add(event, "a key is missing before ':'", "write the key")
        return event.value

    def _sequence(self, events: Iterator[yaml.Event], path: Path) -> list[Tree]:
        tree: list[Tree] = []
        for event in events:
            if isinstance(event, yaml.SequenceEndEvent):
                break
            tree.append(self.node(event, events, (*path, len(tree))))
        return tree

    def _check_document(self, event: yaml.DocumentStartEvent, number: int) -> None:
        if number == 2:
            self._add(event, "a second document starts here", "keep one document to a file")
        if event.version or event.tags:
            self._add(event, "a '%' directive", "remove it")

    def _check_plain(self, event: yaml.Event) -> None:
        if isinstance(event, yaml.AliasEvent):
            self._add(
                event, f"an alias '*{event.anchor}'", "write the value out, or quote the text"
            )
        elif isinstance(event, yaml.NodeEvent) and event.anchor is not None:
            self._add(event, f"an anchor '&{event.anchor}'", "remove it, or quote the text")
        tag = getattr(event, "tag", None)
        if tag is not None:
            self._add(event, f"a tag '{tag}'", "remove it, or quote a text that starts with '!'")

    def _add(self, event: yaml.Event, what: str, mend: str) -> None:
        self.problems.append(self._problem(event, what, mend))

    def _problem(self, event: yaml.Event, what: str, mend: str) -> Problem:
        return Problem(self.file, _line(event), what, mend)


def _events(text: str) -> Iterator[yaml.Event]:
    events: Iterator[yaml.Event] = yaml.parse(text, Loader=_Loader)
    return events


def _is_empty(event: yaml.Event) -> bool:
    return isinstance(event, yaml.ScalarEvent) and not event.value and not event.style


def _line(event: yaml.Event) -> int:
    assert event.start_mark is not None, "the parser marks every event"
    return event.start_mark.line + 1


def _syntax_problem(wrong: yaml.YAMLError, text: str, file: str) -> Problem:
    if isinstance(wrong, yaml.MarkedYAMLError):
        mark = wrong.problem_mark or wrong.context_mark
        what = re.sub(r"\s+", " ", str(wrong.problem or wrong.context or "cannot be read"))
        lines = BREAK.split(text)
        line = min(mark.line, len(lines) - 1) if mark else 0
        if "\t" in re.split(r"[^\t ]", lines[line], maxsplit=1)[0]:
            return Problem(file, line + 1, "a tab in the indent", "indent with spaces only")
        mend = next((mend for part, mend in MENDS if part in what), MEND_SYNTAX)
        return Problem(file, line + 1, what, mend)
    position = getattr(wrong, "position", 0)
    line = text.encode("utf-8", "replace").count(b"\n", 0, position) + 1
    return Problem(file, line, "a character that YAML does not allow", "remove it")
