"""Sections of several files are joined, and no id stands twice."""

from __future__ import annotations

import pytest

from tubside.errors import FileProblemsError, PackError, Problem
from tubside.strict_yaml import Place, merge, read_text


def problems_of(*texts: str) -> tuple[Problem, ...]:
    """Return the problems that merging files 0.yaml, 1.yaml ... tells."""
    documents = [read_text(text, f"{number}.yaml") for number, text in enumerate(texts)]
    with pytest.raises(FileProblemsError) as caught:
        merge(documents)
    return caught.value.problems


def test_sections_are_joined_with_their_places() -> None:
    """Tests that ids of a section come from several files and keep their own places."""
    one = read_text("family: x\nparts:\n  a: {p: 1}\n", "1.yaml")
    two = read_text("parts:\n  b:\n    p: 2\n", "2.yaml")
    merged = merge([one, two])
    assert merged.tree == {"family": "x", "parts": {"a": {"p": "1"}, "b": {"p": "2"}}}
    assert merged.place(("parts",)) == Place("1.yaml", 2)
    assert merged.place(("parts", "b", "p")) == Place("2.yaml", 3)
    assert one.tree == {"family": "x", "parts": {"a": {"p": "1"}}}, "inputs stay as they were"


def test_an_id_in_two_files_names_both() -> None:
    """Tests that an id in two files is a problem with both places, and all are told."""
    first, second = problems_of("p: {a: 1}\nfamily: x\n", "\nfamily: y\np:\n  a: 2\n")
    assert (first.file, first.line) == ("1.yaml", 2)
    assert "0.yaml:2" in first.what
    assert (second.file, second.line) == ("1.yaml", 4)
    assert "0.yaml:1" in second.what


def test_a_section_has_one_shape() -> None:
    """Tests that a section cannot be a mapping here and a list there."""
    assert "'p'" in problems_of("p: {a: 1}\n", "p: [1]\n")[0].what


def test_a_file_that_is_no_mapping() -> None:
    """Tests that a file with a list at the top is refused."""
    assert "a list" in problems_of("a: {}\n", "- 1\n")[0].what


def test_no_file_at_all() -> None:
    """Tests that nothing to merge raises the caller's error."""
    with pytest.raises(PackError):
        merge([], PackError)
