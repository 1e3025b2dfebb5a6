"""Lists that are no lists, and lists of a kind of their own."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from tubside.errors import HistoryError
from tubside.service.learning.old_columns import Layout, guessed
from tubside.service.learning.old_lists import lines_alike, read_old_list
from tubside.service.learning.old_rows import Taken, taken
from tubside.service.library import Library

NOW = datetime(2026, 3, 20, 9, tzinfo=UTC)
PACKS = {name: Library().family(name).pack for name in ("front_load", "dryer")}


def read(text: str, layout: Layout | None = None) -> Taken:
    """Return what a list comes to."""
    sheet = read_old_list(text.encode())
    return taken(sheet, layout or guessed(sheet), PACKS, NOW.date())


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"PK\x03\x04 a spreadsheet", "spreadsheet's own file"),
        (b"\xd0\xcf\x11\xe0 an older one", "spreadsheet's own file"),
        (b"date,fault\n2.3.2024,be\x00lt\n", "line 2 holds what is no text"),
        (b'date,fault\n2.3.2024,"belt\n3.3.2024,belt\n', "line 2 cannot be read"),
        (b"date,fault\n2.3.2024," + b"x" * 200_000 + b"\n", "line 2 cannot be read"),
        (b"", "first line does not name"),
        (b"date,fault\n", "0 rows"),
        (b"date,date\n1,2\n", "two columns are called"),
    ],
)
def test_what_is_no_list_is_refused(content: bytes, told: str) -> None:
    """Tests that each is refused with what is wrong and where."""
    with pytest.raises(HistoryError, match=told):
        read_old_list(content)


def test_a_line_that_says_the_separator() -> None:
    """Tests that it is passed over, and lines are still counted from the top of the file."""
    sheet = read_old_list(b"sep=;\r\nDate;Machine\r\n2.3.2024;dryer\r\n")
    assert sheet.columns == ("Date", "Machine")
    assert [line for line, _ in sheet.rows] == [3]


def test_what_is_needed_is_told_once() -> None:
    """Tests that a list without a day or a machine is one thing to mend, not one for each row."""
    found = read("when,fault\n" + "2.3.2024,belt\n" * 500)
    assert len(found.problems) == 1
    assert "day of closing and the kind of machine" in found.problems[0].what


def test_columns_are_guessed_by_their_words() -> None:
    """Tests names of more than one word, each column for one thing."""
    sheet = read_old_list(
        b"Date closed,Machine type,Fault found,Found by\n1.2.2024,dryer,belt,Jo\n"
    )
    assert guessed(sheet).columns == {
        "closed": "Date closed",
        "family": "Machine type",
        "cause": "Fault found",
    }


def test_all_rows_of_one_kind() -> None:
    """Tests that the kind of machine can be said for rows that do not say it themselves."""
    layout = Layout(columns={"closed": "date", "cause": "fault"}, family="front_load")
    found = read("date,fault\n2.3.2024,belt\n", layout)
    assert [job.family for job in found.jobs.values()] == ["front_load"]


def test_a_word_is_of_its_family() -> None:
    """Tests that one word is asked for and told family by family, all words of a row at once."""
    text = "date,machine,trouble,fault\n1.2.2024,dryer,x,y\n2.2.2024,front_load,x,y\n"
    asked = {key for _, key, _ in read(text).unknown_words}
    assert asked == {"dryer/x", "dryer/y", "front_load/x", "front_load/y"}
    causes = {name: next(iter(pack.causes)) for name, pack in PACKS.items()}
    words = {
        "cause": {f"{name}/y": cause for name, cause in causes.items()},
        "complaint": {"x": "?"},
    }
    columns = guessed(read_old_list(text.encode())).columns
    found = read(text, Layout(columns=columns, words=words))
    assert {job.family: next(iter(job.causes)) for job in found.jobs.values()} == causes


def test_all_other_words_at_once() -> None:
    """Tests that words nobody was told of can all tell nothing, or have their rows left out."""
    text = "date,machine,fault\n1.2.2024,front_load,belt\n2.2.2024,front_load,odd\n"
    columns = guessed(read_old_list(text.encode())).columns
    nothing = read(text, Layout(columns=columns, words={"cause": {"*": "?"}}))
    assert sorted(len(job.causes) for job in nothing.jobs.values()) == [0, 1]
    without = read(text, Layout(columns=columns, words={"cause": {"*": "-"}}))
    assert (len(without.jobs), without.left_out) == (1, 1)


def test_a_text_as_long_as_a_book() -> None:
    """Tests that a cell of 100,000 letters is a wrong row with its line, not a word to tell."""
    found = read("date,machine,fault\n1.2.2024,dryer," + "x" * 100_000 + "\n")
    assert [problem.line for problem in found.problems] == [2]
    assert found.unknown_words == ()


def test_rows_that_say_the_same_are_told() -> None:
    """Tests the lines of rows alike in every column, of which each is still a job."""
    text = "date,machine,fault\n1.2.2024,dryer,motor\n1.2.2024,dryer,idler\n"
    twice = text + "1.2.2024,dryer,motor\n\n1.2.2024,dryer,motor\n"
    assert lines_alike(read_old_list(text.encode())) == ()
    assert lines_alike(read_old_list(twice.encode())) == (4, 6)
    assert len(read(twice).jobs) == 4
