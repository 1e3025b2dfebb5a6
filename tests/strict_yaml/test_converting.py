"""Declared types turn texts into values, and every fault is told."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Annotated, Literal

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import FileProblemsError, PackError, Problem
from tubside.strict_yaml import convert, read_text


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """A small record."""

    title: str
    price: float
    kind: Literal["pump", "valve"] = "pump"
    count: int = 1
    carried: bool = False
    note: str | None = None
    weight: float | None = None
    source: str | dict[str, str] = "cp"
    sizes: tuple[float, ...] = ()
    pair: tuple[int, str] = (0, "")
    bought: date | None = None
    cost: Decimal | None = None
    chance: Annotated[float, msgspec.Meta(ge=0, le=1)] = 0.5


class Shop(msgspec.Struct, frozen=True):
    """Records by id."""

    parts: dict[str, Part]
    shelves: list[str] = []


class Steady(msgspec.Struct, frozen=True, tag="steady", tag_field="light"):
    """One kind of a tagged union."""

    lamp: str


class Flash(msgspec.Struct, frozen=True, tag="flash", tag_field="light"):
    """Another kind of a tagged union."""

    lamp: str
    hertz: float


class Show(msgspec.Struct, frozen=True):
    """A list of a tagged union."""

    lights: list[Steady | Flash]


def part(fields: str) -> Part:
    """Read one part from flow-style fields."""
    return convert(read_text("{" + fields + "}", "f.yaml"), Part)


def problems_of(text: str, kind: type[object]) -> tuple[Problem, ...]:
    """Return the problems that converting ``text`` tells."""
    document = read_text(text, "f.yaml")
    with pytest.raises(FileProblemsError) as caught:
        convert(document, kind)
    return caught.value.problems


@pytest.mark.parametrize("typed", ["null", "~", "yes", "no", "12:30", "3.10", "1e3", "true", "NO"])
def test_text_fields_stay_text(typed: str) -> None:
    """Tests that a text field, also an optional one, keeps what was typed."""
    got = part(f"title: {typed}, price: 1, note: {typed}, source: {typed}")
    assert (got.title, got.note, got.source) == (typed, typed, typed)


def test_declared_types_are_read() -> None:
    """Tests that numbers, truth values, choices, dates and unions follow the declared type."""
    got = part(
        "title: x, price: 1e3, kind: valve, count: 3, carried: yes, weight: -.5, bought: "
        "2026-11-03, cost: 3.10, sizes: [1, 2.5], pair: [3, no], source: {a: b}"
    )
    assert (got.price, got.kind, got.count, got.carried) == (1000.0, "valve", 3, True)
    assert (got.weight, got.sizes, got.pair) == (-0.5, (1.0, 2.5), (3, "no"))
    assert (got.bought, got.cost) == (date(2026, 11, 3), Decimal("3.10"))
    assert got.source == {"a": "b"}


@pytest.mark.parametrize(
    ("fields", "what"),
    [
        ("price: nan", "not a number"),
        ("price: .inf", "not a number"),
        ("price: 1e999", "not a number"),
        ("price: 1_000", "not a number"),
        ("price: '1,5'", "not a number"),
        ("price: ٣", "not a number"),
        ("price: [1]", "a list, not a number"),
        ("price: 1, count: 1.0", "not a whole number"),
        ("price: 1, count: " + "9" * 30, "not a whole number"),
        ("price: 1, carried: 1", "not true or false"),
        ("price: 1, weight: null", "'null', not a number"),
        ("price: 1, kind: pmup", "cannot be 'pmup'"),
        ("price: 1, source: [a]", "a list"),
        ("price: 1, sizes: 3", "'sizes' is '3'"),
        ("price: 1, sizes: [3, x]", "'sizes.1' is 'x'"),
        ("price: 1, pair: [3]", "1 entries"),
        ("price: 1, bought: tomorrow", "'bought' cannot be 'tomorrow'"),
        ("price: 1, chance: 1.5", "'chance' cannot be '1.5'"),
        ("price: 1, titel: x", "unknown key 'titel'"),
        ("count: 1", "lacks 'price'"),
    ],
)
def test_wrong_values_are_told(fields: str, what: str) -> None:
    """Tests that a value that does not fit its type is one problem that says so."""
    (problem,) = problems_of("{title: x, " + fields + "}", Part)
    assert what in problem.what


def test_all_faults_of_all_records_are_told() -> None:
    """Tests that every fault of every record comes with its own line and mend."""
    text = (
        "parts:\n"
        "  a:\n"
        "    titel: x\n"
        "    price: dear\n"
        "  b:\n"
        "    title: [x]\n"
        "    price: 1\n"
        "shelfs: []\n"
    )
    told = [(problem.line, problem.what, problem.mend) for problem in problems_of(text, Shop)]
    assert [line for line, _, _ in told] == [2, 3, 4, 6, 8]
    assert told[0][1:] == ("'parts.a' lacks 'title'", "add 'title: ...'")
    assert told[1][1:] == ("'parts.a' has an unknown key 'titel'", "did you mean 'title'?")
    assert told[4][1:] == ("the file has an unknown key 'shelfs'", "did you mean 'shelves'?")


def test_tagged_records_are_told_apart() -> None:
    """Tests that a union of tagged records is read by its tag, and a wrong tag is told."""
    text = "lights:\n- {light: steady, lamp: a}\n- {light: flash, lamp: b, hertz: 2}\n"
    assert convert(read_text(text, "f.yaml"), Show).lights == [Steady("a"), Flash("b", 2.0)]
    (wrong,) = problems_of("lights:\n- {light: flahs, lamp: a}\n", Show)
    assert wrong.mend == "did you mean 'flash'?"
    (missing,) = problems_of("lights:\n- {lamp: a}\n", Show)
    assert "lacks 'light'" in missing.what


def test_a_text_where_a_record_belongs() -> None:
    """Tests that a text, and an empty file, in place of a record say what is wanted."""
    (problem,) = problems_of("parts: {a: pump}", Shop)
    assert problem.what == "'parts.a' is 'pump'"
    assert "title, price" in problem.mend
    assert "lacks 'parts'" in problems_of("", Shop)[0].what


def test_the_callers_error_is_raised() -> None:
    """Tests that the caller chooses which error the problems come in."""
    with pytest.raises(PackError):
        convert(read_text("", "f.yaml"), Shop, PackError)


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_numbers_come_back(value: float) -> None:
    """Tests that any finite number written by Python is read as itself."""
    assert part(f"title: x, price: {value!r}").price == value


@given(st.text(st.sampled_from("0123456789.e-+naif_ ,x"), max_size=8))
def test_any_text_is_a_number_or_a_problem(text: str) -> None:
    """Tests that a number field never crashes and never yields what is not finite."""
    try:
        got = part(f"title: x, price: '{text}'")
    except FileProblemsError:
        return
    assert abs(got.price) < float("inf")
