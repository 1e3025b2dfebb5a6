"""The reader keeps texts as typed and refuses what surprises."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import FileProblemsError, JobFileError, Problem
from tubside.strict_yaml import Document, Place, read_file, read_text


def problems_of(text: str) -> tuple[Problem, ...]:
    """Return the problems that reading ``text`` tells."""
    with pytest.raises(FileProblemsError) as caught:
        read_text(text, "some.yaml")
    return caught.value.problems


@pytest.mark.parametrize(
    "typed",
    ["on", "no", "NO", "yes", "12:30", "3.10", "1e3", "~", "null", "0o17", "1_000", ".inf", "="],
)
def test_plain_scalars_stay_as_typed(typed: str) -> None:
    """Tests that no scalar is taken for a truth value, a time, a number or nothing."""
    document = read_text(f"key: {typed}\nlist: [{typed}]\n{typed}: x\n", "some.yaml")
    assert document.tree == {"key": typed, "list": [typed], typed: "x"}


def test_places_are_lines_of_keys_and_items() -> None:
    """Tests that each path knows its line, and an unknown one its nearest ancestor's."""
    document = read_text("# top\na:\n  b:\n    - x\n    - y\n  c: z\n", "some.yaml")
    assert document.place(("a",)) == Place("some.yaml", 2)
    assert document.place(("a", "b", 1)) == Place("some.yaml", 5)
    assert document.place(("a", "c", "missing", 4)) == Place("some.yaml", 6)
    assert document.place(("unknown",)) == Place("some.yaml", 1)


@pytest.mark.parametrize("text", ["", "# only a comment\n", "---\n", "\ufeff"])
def test_an_empty_file_is_an_empty_mapping(text: str) -> None:
    """Tests that nothing written is read as no keys."""
    assert read_text(text, "some.yaml").tree == {}


@pytest.mark.parametrize(
    ("text", "line", "what"),
    [
        ("a: 1\nb: 2\na: 3\n", 3, "'a' stands here twice (first in line 1)"),
        ("a: &x 1\n", 1, "an anchor '&x'"),
        ("a: 1\nb: *x\n", 2, "an alias '*x'"),
        ("a:\n  <<: {b: 1}\n", 2, "a merge key '<<'"),
        ("a: !!int 3\n", 1, "a tag"),
        ("a: !thing 3\n", 1, "a tag '!thing'"),
        ("!!str a: 3\n", 1, "a tag"),
        ("a: !!map {}\n", 1, "a tag"),
        ("? [a, b]\n: 1\n", 1, "a key that is not a text"),
        ("? {a: b}\n: 1\n", 1, "a key that is not a text"),
        ("? \n: 1\n", 1, "a key is missing"),
        ("a: 1\n---\nb: 2\n", 2, "a second document"),
        ("%YAML 1.1\n---\na: 1\n", 1, "a '%' directive"),
        ("a: 1\nb:\n\tc: 2\n", 3, "a tab"),
        ("a: x: y\n", 1, "mapping values are not allowed"),
        ("a: 'open\n", 2, "end of stream"),
        ("a: 1\nb:\nc: 2\n", 2, "'b' has no value"),
        ("a: [1, 2\n", 2, ""),
        ("a: 1\nb: \x07\n", 2, "a character that YAML does not allow"),
        ("a: \ud800\n", 1, "half a character"),
    ],
)
def test_surprises_are_refused(text: str, line: int, what: str) -> None:
    """Tests that each surprise is told with its line, what is wrong and how to mend it."""
    (problem,) = problems_of(text)
    assert (problem.file, problem.line) == ("some.yaml", line)
    assert what in problem.what
    assert problem.mend


def test_all_problems_are_told_at_once() -> None:
    """Tests that one reading tells every problem up to a syntax error, sorted by line."""
    problems = problems_of("a: &x 1\nb: !t 2\na: 3\nc: d: e\n")
    assert [problem.line for problem in problems] == [1, 2, 3, 4]


def test_depth_is_limited() -> None:
    """Tests that deep nesting is refused rather than followed down."""
    assert "deep" in problems_of("[" * 60 + "]" * 60)[0].what
    assert problems_of("[" * 200_000)


def test_size_is_limited() -> None:
    """Tests that a file of very many entries or characters is refused."""
    assert "entries" in problems_of("[" + "1," * 200_001 + "1]")[0].what
    assert "characters" in problems_of("a: " + "x" * 2_000_001)[0].what


def test_the_callers_error_is_raised() -> None:
    """Tests that the caller chooses which error the problems come in."""
    with pytest.raises(JobFileError):
        read_text("a: &x 1\n", "some.yaml", JobFileError)


def test_files_are_utf8(tmp_path: Path) -> None:
    """Tests that a byte that is no UTF-8 is told with its line, and a missing file by name."""
    path = tmp_path / "some.yaml"
    path.write_bytes(b"a: 1\nb: \xe9\n")
    with pytest.raises(FileProblemsError) as caught:
        read_file(path, "some.yaml")
    assert caught.value.problems[0].line == 2
    with pytest.raises(FileProblemsError, match="cannot be read"):
        read_file(tmp_path / "none.yaml")
    path.write_bytes("\ufeffa: ü\n".encode())
    assert read_file(path).tree == {"a": "ü"}


def leaves(tree: object) -> list[object]:
    """Return all scalars of a tree."""
    if isinstance(tree, dict):
        return [leaf for key, value in tree.items() for leaf in [key, *leaves(value)]]
    return [leaf for item in tree for leaf in leaves(item)] if isinstance(tree, list) else [tree]


yamlish = st.text(st.sampled_from("ab :-\n#&*!|>'\"%@`{}[],?~<\t01.\\\x85\u2028\ud800"))


@given(st.one_of(st.text(), yamlish))
def test_no_text_crashes_the_reader(text: str) -> None:
    """Tests that any text is read as texts only, or refused with problems that have lines."""
    read: list[Document] = []
    problems: list[Problem] = []
    try:
        read.append(read_text(text, "some.yaml"))
    except FileProblemsError as wrong:
        problems += wrong.problems
    assert bool(read) != bool(problems)
    assert all(problem.line >= 1 for problem in problems)
    assert all(isinstance(leaf, str) for document in read for leaf in leaves(document.tree))


@given(st.text(st.characters(min_codepoint=33, max_codepoint=126), min_size=1))
def test_quoted_texts_come_back(text: str) -> None:
    """Tests that any text in single quotes is read as itself."""
    quoted = text.replace("'", "''")
    assert read_text(f"a: '{quoted}'\n", "some.yaml").tree == {"a": text}
