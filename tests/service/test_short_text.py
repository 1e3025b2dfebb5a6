"""Tests of the short text of a customer's own check."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.errors import ShortTextError
from tubside.service import records
from tubside.service.library import Library
from tubside.service.short_text import (
    LETTERS,
    MOST_FACTS,
    NO_DANGER,
    PRIME,
    VERSION,
    Item,
    bodies_of,
    book_of,
    decoded,
    encoded,
    end_of,
    text_of,
)

LIBRARY = Library()
TERN = book_of(LIBRARY.model("aldermoor-tern"), "aldermoor-tern")
GOLDEN = json.loads((Path(__file__).parents[1] / "golden" / "short_text.json").read_text())
SCRIPT = Path(__file__).parents[2] / "src" / "tubside" / "guide" / "static" / "short-text.js"
PLAIN: tuple[Item, ...] = (
    NO_DANGER,
    ("indication", "four", ""),
    ("condition", "wont_drain", ""),
    ("remedy", "straighten-drain-hose", "still-fails"),
    ("end", "visit", ""),
)


@pytest.mark.parametrize("case", GOLDEN)
def test_python_writes_the_golden_text(case: dict[str, object]) -> None:
    """Tests that the text of a golden case is what was kept."""
    assert text_of(str(case["prefix"]), list(case["numbers"])) == case["text"]  # type: ignore[call-overload]  # from JSON


def test_script_writes_the_same() -> None:
    """Tests that the guide's script writes every golden text."""
    node = shutil.which("node")
    if node is None:
        pytest.skip("node is not there to run the guide's script")
    told = (
        f"import {{ shortText }} from {json.dumps(SCRIPT.as_uri())};"
        f"const cases = {json.dumps(GOLDEN)};"
        "console.log(JSON.stringify(cases.map((c) => shortText(c.prefix, c.numbers))));"
    )
    command = [node, "--input-type=module", "-e", told]
    found = subprocess.run(command, capture_output=True, text=True, check=True, timeout=60)
    assert json.loads(found.stdout) == [case["text"] for case in GOLDEN]


@settings(max_examples=60, deadline=None)
@given(numbers=st.lists(st.integers(0, len(TERN.items) - 1), unique=True, max_size=MOST_FACTS))
def test_comes_back_as_told(numbers: list[int]) -> None:
    """Tests that any list of things told comes back, in order, from one message."""
    items = tuple(TERN.items[number] for number in numbers)
    text = encoded(TERN, items)
    assert len(text) < 160
    told = decoded(LIBRARY, f"  {text.lower().replace(' ', '-')}\n")
    assert (told.family, told.model, told.items) == ("top_load", "aldermoor-tern", items)


def test_mix_ups_are_taken_as_meant() -> None:
    """Tests that O, I and L are read as 0 and 1."""
    text = encoded(TERN, PLAIN)
    meant = text.replace("0", "o").replace("1", "l")
    assert meant != text
    assert decoded(LIBRARY, meant).items == PLAIN


def test_every_wrong_letter_and_every_swap_is_found() -> None:
    """Tests that one letter changed, or two letters swapped, never reads as a text."""
    text = encoded(TERN, PLAIN).replace(" ", "")
    wrong = [
        text[:place] + other + text[place + 1 :]
        for place in range(len(text))
        for other in LETTERS
        if other != text[place]
    ]
    for first in range(len(text)):
        for second in range(first + 1, len(text)):
            if text[first] != text[second]:
                letters = list(text)
                letters[first], letters[second] = letters[second], letters[first]
                wrong.append("".join(letters))
    for one in wrong:
        with pytest.raises(ShortTextError, match="misheard or mistyped"):
            decoded(LIBRARY, one)


def test_the_prime_does_what_is_said_of_it() -> None:
    """Tests that 32 generates every remainder but 0, so a text never repeats one."""
    assert len({pow(32, power, PRIME) for power in range(PRIME - 1)}) == PRIME - 1


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "has 0 letters"),
        ("10TV", "has 4 letters"),
        ("hello there", "'U'|'!'|letters"),
        ("é", "not in such a text"),
        ("1" * 300, "missing or doubled"),
        (text_of("0TVB", [0]), "does not know"),
        (text_of(TERN.prefix, [1023]), "does not have"),
    ],
)
def test_says_what_is_wrong(text: str, said: str) -> None:
    """Tests that a text that cannot be read is refused in plain words."""
    with pytest.raises(ShortTextError, match=said):
        decoded(LIBRARY, text)


def test_another_version_is_named() -> None:
    """Tests that a text of a later version is not read as one of this."""
    later = "2" + TERN.prefix
    value = 0
    for letter in later + "00":
        value = (value * 32 + LETTERS.index(letter)) % PRIME
    check = (PRIME - value) % PRIME
    assert VERSION != "2"
    with pytest.raises(ShortTextError, match="version 2"):
        decoded(LIBRARY, later + LETTERS[check >> 5] + LETTERS[check & 31])


def test_too_many_and_unknown_things_are_refused() -> None:
    """Tests that more than one message holds, or what the list lacks, is not written."""
    with pytest.raises(ShortTextError, match="too many"):
        text_of("0TVB", [0] * (MOST_FACTS + 1))
    with pytest.raises(ShortTextError, match="nothing that a customer tells"):
        encoded(TERN, [("check", "winding-resistance", "open")])


@pytest.mark.parametrize("model", LIBRARY.models())
def test_every_list_fits_two_letters_and_names_itself(model: str) -> None:
    """Tests that each machine has its own short name, and no more things than two letters tell."""
    books = [book_of(LIBRARY.model(name), name) for name in LIBRARY.models()]
    books += [book_of(LIBRARY.family(name)) for name in LIBRARY.families()]
    assert len({book.prefix for book in books}) == len(books)
    book = book_of(LIBRARY.model(model), model)
    assert len(set(book.items)) == len(book.items) < 1024


def test_facts_are_those_of_a_customer() -> None:
    """Tests that what was told becomes facts with a customer's accuracy, danger first."""
    told = decoded(LIBRARY, encoded(TERN, PLAIN))
    bodies = bodies_of(told, LIBRARY.model("aldermoor-tern"))
    assert bodies[0] == records.DangerTold(kinds=[])
    assert bodies[1] == records.Machine(family="top_load", model="aldermoor-tern")
    assert records.Reported(conditions=["wont_drain"]) in bodies
    by = [b.by for b in bodies if isinstance(b, records.CheckDone | records.RemedyDone)]
    assert by == ["customer"]
    assert end_of(told) == "visit"
