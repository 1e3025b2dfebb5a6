"""Tests of reading and writing a troubleshooting problem."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.diagnosis.solve.drawn import KINDS, draw
from tubside.diagnosis.solve.problem import NO_COVER, Problem
from tubside.diagnosis.solve.problem_file import parse_problem, problem_text, read_problem
from tubside.errors import ProblemFileError

WHOLE = """{"title": "Won't drain", "goal": "working",
 "causes": {"a": 0.7, "b": 0.2, "c": 0.1}, "single_fault": true,
 "checks": {
  "look": {"cost": 2, "outcomes": ["bad", "good"],
           "given": {"a": [0.9, 0.1], "b": [0.8, 0.2]},
           "otherwise": [0.06, 0.94], "repeatable": false, "behind": "cover"}},
 "remedies": {
  "swap": {"cost": 40, "clears": {"a": 1.0, "b": 0.95}, "rerun_cost": 3,
           "repeatable": true, "behind": "cover"}},
 "covers": {"cover": {"open": 3, "close": 1}},
 "stops": {"refer": {"cost": 400}}}
"""
GONE = object()


def edited(**changes: object) -> str:
    """Return the whole file with fields replaced: ``checks__look__cost=3``."""
    tree: dict[str, Any] = json.loads(WHOLE)
    for name, value in changes.items():
        *path, last = name.split("__")
        part: Any = tree
        for step in path:
            part = part[step]
        if value is GONE:
            del part[last]
        else:
            part[last] = value
    return json.dumps(tree, indent=1)


def refused(text: str) -> list[str]:
    """Return the problems of a text that must be refused."""
    with pytest.raises(ProblemFileError) as caught:
        parse_problem(text)
    return [str(problem) for problem in caught.value.problems]


def same(one: Problem, other: Problem) -> bool:
    """Tell whether two problems are the same to the last digit."""
    return problem_text(one) == problem_text(other)


def test_every_field_is_read() -> None:
    """Tests that a file with every field becomes the arrays it describes."""
    problem = parse_problem(WHOLE)
    assert (problem.title, problem.goal, problem.single_fault) == ("Won't drain", "working", True)
    assert problem.causes == ("a", "b", "c")
    assert problem.prior.tolist() == [0.7, 0.2, 0.1]
    (look,) = problem.checks
    assert (look.name, look.cost, look.outcomes) == ("look", 2.0, ("bad", "good"))
    assert look.given.tolist() == [[0.9, 0.1], [0.8, 0.2], [0.06, 0.94]]
    assert look.otherwise.tolist() == [0.06, 0.94]
    assert (look.repeatable, look.behind) == (False, 0)
    (swap,) = problem.remedies
    assert (swap.name, swap.cost, swap.rerun_cost, swap.repeatable) == ("swap", 40.0, 3.0, True)
    assert swap.clears.tolist() == [1.0, 0.95, 0.0]
    assert [(c.name, c.open, c.close) for c in problem.covers] == [("cover", 3.0, 1.0)]
    assert [(s.name, s.cost) for s in problem.stops] == [("refer", 400.0)]


def test_what_may_be_left_out() -> None:
    """Tests the values of fields that a file leaves out."""
    problem = parse_problem(
        '{"causes": {"a": 1}, "remedies": {"swap": {"cost": 4, "clears": {"a": 1}}},'
        ' "covers": {"lid": {"open": 1}},'
        ' "checks": {"look": {"cost": 1, "outcomes": ["bad", "good"], "given": {"a": [1, 0]}}}}'
    )
    assert (problem.title, problem.goal, problem.single_fault) == ("", "working", True)
    assert problem.checks[0].behind == problem.remedies[0].behind == NO_COVER
    assert not problem.checks[0].repeatable
    assert problem.remedies[0].rerun_cost == problem.covers[0].close == 0.0
    assert problem.stops == ()


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("single_fault", [True, False])
def test_a_written_problem_reads_back(kind: str, single_fault: bool) -> None:
    """Tests that writing and reading changes no digit."""
    problem = draw(KINDS[kind], 5, 4, 3, single_fault=single_fault)
    again = parse_problem(problem_text(problem))
    assert same(problem, again)
    assert np.array_equal(problem.prior, again.prior)
    for one, other in zip(problem.checks, again.checks, strict=True):
        assert np.array_equal(one.given, other.given)


def test_few_digits_are_shared_out() -> None:
    """Tests that thirds written with six digits count as thirds that sum to one."""
    third = '{"causes": {"a": 0.333333, "b": 0.333333, "c": 0.333333}, "stops": {"x": {"cost": 1}}}'
    assert parse_problem(third).prior.tolist() == pytest.approx([1 / 3] * 3, rel=1e-12)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"causes__a": 0.6}, "'causes' sum to 0.9"),
        ({"causes__a": 1.7}, "'causes.a' cannot be '1.7'"),
        ({"causes__a": -0.1}, "'causes.a' cannot be '-0.1'"),
        ({"causes__a": "0.7"}, "'causes.a' is the text '0.7'"),
        ({"causes__a": "much"}, "'causes.a' is 'much', not a number"),
        ({"causes__a": True}, "'causes.a' is 'true', not a number"),
        ({"causes__a": [0.7]}, "'causes.a' is a list, not a number"),
        ({"causes": {}}, "'causes' is empty"),
        ({"causes": GONE}, "lacks 'causes'"),
        ({"causes": {"a": 0, "b": 0, "c": 0}, "single_fault": False}, "no cause in 'causes' can"),
        ({"single_fault": 1}, "'single_fault' is '1', not true or false"),
        ({"single_fault": "yes"}, "'single_fault' is the text 'yes'"),
        ({"title": 7}, "'title' is 7"),
        ({"goal": "mended"}, "'goal' cannot be 'mended'"),
        ({"goal": "identified"}, "'remedies' stand in a problem whose 'goal' is identified"),
        ({"colour": "red"}, "unknown key 'colour'"),
        ({"checks__look__cots": 2}, "'checks.look' has an unknown key 'cots'"),
        ({"checks__look__cost": -2}, "'checks.look.cost' cannot be '-2.0'"),
        ({"checks__look__cost": 1e300}, "'checks.look.cost' cannot be '1e+300'"),
        ({"checks__look__cost": GONE}, "'checks.look' lacks 'cost'"),
        ({"checks__look__outcomes": []}, "'checks.look.outcomes' holds 0 outcomes"),
        ({"causes": {str(i): 0 for i in range(501)}}, "'causes' holds 501 causes"),
        ({"checks__look__outcomes": ["bad", "bad"]}, "'checks.look.outcomes' holds 'bad' twice"),
        ({"checks__look__outcomes": [1, 2]}, "'checks.look.outcomes.0' is 1"),
        ({"checks__look__given__a": [0.9, 0.2]}, "'checks.look.given.a' sums to 1.1"),
        ({"checks__look__given__a": [1.0]}, "'checks.look.given.a' has 1 chances for 2 outcomes"),
        ({"checks__look__given__a": [1.1, -0.1]}, "'checks.look.given.a.0' cannot be '1.1'"),
        ({"checks__look__given__d": [0.9, 0.1]}, "'checks.look.given' names the unknown cause 'd'"),
        ({"checks__look__otherwise": [0.5, 0.6]}, "'checks.look.otherwise' sums to 1.1"),
        ({"checks__look__otherwise": GONE}, "'checks.look' lacks 'otherwise'"),
        ({"checks__look__behind": "lid"}, "'checks.look.behind' is the unknown cover 'lid'"),
        ({"checks__look__behind": 3}, "'checks.look.behind' is 3"),
        ({"checks__swap": {"cost": 1, "outcomes": ["x"]}}, "'remedies.swap' has the name of"),
        ({"remedies__swap__clears__d": 1}, "'remedies.swap.clears' names the unknown cause 'd'"),
        ({"remedies__swap__clears__a": 1.2}, "'remedies.swap.clears.a' cannot be '1.2'"),
        ({"remedies__swap__rerun_cost": -1}, "'remedies.swap.rerun_cost' cannot be '-1.0'"),
        ({"remedies__swap__behind": "lid"}, "'remedies.swap.behind' is the unknown cover 'lid'"),
        ({"covers__cover__open": -1}, "'covers.cover.open' cannot be '-1.0'"),
        ({"covers__cover__open": GONE}, "'covers.cover' lacks 'open'"),
        ({"stops__refer__cost": -1}, "'stops.refer.cost' cannot be '-1.0'"),
        ({"stops": {}}, "'causes.c' may outlast every remedy, and there is no stop"),
    ],
)
def test_what_cannot_be_is_refused(changes: dict[str, object], told: str) -> None:
    """Tests that each mistake is told with its field and with how to mend it."""
    found = refused(edited(**changes))
    assert any(told in problem for problem in found), found
    assert all("; " in problem for problem in found)


def test_the_line_is_told() -> None:
    """Tests that a problem names the file and the line of its field."""
    text = WHOLE.replace('"b": [0.8, 0.2]', '"b": [0.8, 0.1]').replace('"open": 3', '"open": -3')
    assert [problem.split(": ")[0] for problem in refused(text)] == ["problem.json:10"]
    text = WHOLE.replace('"b": [0.8, 0.2]', '"b": [0.8, 0.1]').replace('"b": 0.2,', '"b": 0.4,')
    assert [problem.split(": ")[0] for problem in refused(text)] == [
        "problem.json:2",
        "problem.json:5",
    ]


def test_all_problems_are_told_at_once() -> None:
    """Tests that one reading tells every wrong field of the same sort."""
    found = refused(edited(causes__a=2, checks__look__cost=-1, stops__refer__cost="4", goal="x"))
    assert len(found) == 4


@pytest.mark.parametrize(
    ("outcomes", "rows", "otherwise", "told"),
    [
        (["bad", "good"], {"a": [0.1, 0.9], "b": [0.1, 0.9]}, [0.6, 0.4], "goes above 1"),
        (
            ["bad", "so-so", "good"],
            {"a": [0.5, 0.0, 0.5], "b": [0.5, 0.0, 0.5]},
            [0.1, 0.5, 0.4],
            "likelier than",
        ),
    ],
)
def test_independent_causes_need_ordered_outcomes(
    outcomes: list[str], rows: dict[str, object], otherwise: list[float], told: str
) -> None:
    """Tests that chances which no two causes can have together are told with their check."""
    look = {"cost": 1, "outcomes": outcomes, "given": rows, "otherwise": otherwise}
    changes = {"single_fault": False, "checks__look": look}
    (found,) = refused(edited(**changes))
    assert "'checks.look': with several causes" in found
    assert told in found
    parse_problem(edited(checks__look=look))


def test_a_stop_is_needed_only_where_the_job_may_not_end() -> None:
    """Tests that surely clearing, or trying again, lets a problem do without a stop."""
    clears = {"a": 0.5, "b": 0.5, "c": 0.1}
    parse_problem(edited(stops={}, remedies__swap__clears=clears))
    once = edited(stops={}, remedies__swap__clears=clears, remedies__swap__repeatable=False)
    assert len(refused(once)) == 3


@pytest.mark.parametrize(
    ("rows", "ends"),
    [
        ({"a": [1, 0], "b": [0, 1]}, True),
        ({"a": [1, 0], "b": [0.1, 0.9]}, False),
    ],
)
def test_identifying_needs_a_stop_or_sure_checks(rows: dict[str, object], ends: bool) -> None:
    """Tests that causes which no check tells apart for sure need a stop."""
    text = json.dumps(
        {
            "goal": "identified",
            "causes": {"a": 0.5, "b": 0.5},
            "checks": {"look": {"cost": 1, "outcomes": ["x", "y"], "given": rows}},
        }
    )
    if ends:
        parse_problem(text)
    else:
        assert "surely tells" in refused(text)[0]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", ":1: the file is empty"),
        ("   \n\n", ":1: the file is empty"),
        ("[]", ":1: the file begins with '['"),
        ("{", ":1: the end of the file where a key must stand"),
        ('{"causes": {"a": NaN}}', ":1: 'NaN' where a value must stand"),
        ('{"causes":\n {"a": -Infinity}}', ":2: '-Infinity' where a value must stand"),
        ('{"causes": {"a": 1e999}}', ":1: 'causes.a' is '1e999', not a number"),
        ('{"causes": {"a": 01}}', ":1: '01' where a value must stand"),
        ('{"causes": {"a": 1},\n "causes": {"a": 1}}', ":2: 'causes' stands here twice (first in"),
        ('{"causes": {"a": 0.5,\n "a": 0.5}}', ":2: 'a' stands here twice (first in line 1)"),
        ('{"causes": {"a": 1}}\n{}', ":2: '{' after the end of the object"),
        ('{"causes": {"a": 1},}', ":1: '}' where a key must stand"),
        ('{"causes": {"a": 1} "goal": "working"}', ":1: '\"goal\"' after an entry"),
        ("{'causes': 1}", "double quotation marks"),
        ('{"title": null}', ":1: 'null' where a value must stand"),
        ('{"title": "a\nb"}', ":1: '\"a' where a value must stand"),
        ('{"title": "\\ud800"}', "holds a character that cannot be shown"),
        ('{"title": "\\u001b[31m"}', "holds a character that cannot be shown"),
        ('{"causes": {"": 1}}', "expected `str` of length >= 1"),
        ("// note\n{}", ":1: the file begins with '/'"),
        ("\x00", ":1: the file begins with"),
        ("[" * 100_000, ":1: the file begins with '['"),
        ('{"a":' * 100_000, "nested more than 16 deep"),
        ('{"title": "' + "x" * 5_000_000 + '"}', "characters, more than"),
    ],
)
def test_what_is_no_json_is_refused(text: str, told: str) -> None:
    """Tests that hostile and broken texts give one clear line."""
    found = refused(text)
    assert any(told in problem for problem in found), found


def assert_told_in_words(text: str) -> None:
    """Read a text; if it is refused, every problem must name a line that is there."""
    found: list[int] = []
    try:
        parse_problem(text)
    except ProblemFileError as wrong:
        found = [problem.line for problem in wrong.problems] or [0]
    assert all(1 <= line <= text.count("\n") + 1 for line in found)


@given(st.text(max_size=80))
def test_no_text_gives_a_traceback(text: str) -> None:
    """Tests that any text is read or refused in words."""
    assert_told_in_words(text)


@given(st.data())
def test_no_damage_gives_a_traceback(data: st.DataObject) -> None:
    """Tests that a file with characters changed, added or lost is read or refused in words."""
    start = data.draw(st.integers(0, len(WHOLE) - 1))
    end = data.draw(st.integers(start, min(start + 12, len(WHOLE))))
    put = data.draw(st.text("0123456789.-e\"'{}[],:truefalsn \n\\", max_size=6))
    assert_told_in_words(WHOLE[:start] + put + WHOLE[end:])


def test_a_file_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    """Tests that a missing file, a folder and bytes that are no text are told."""
    for path in (tmp_path / "none.json", tmp_path):
        with pytest.raises(ProblemFileError, match="cannot be read"):
            read_problem(path)
    (tmp_path / "bytes.json").write_bytes(b'{"title": "\xff"}')
    with pytest.raises(ProblemFileError, match="is not UTF-8"):
        read_problem(tmp_path / "bytes.json")
    (tmp_path / "marked.json").write_text(WHOLE, encoding="utf-8-sig")
    assert same(read_problem(tmp_path / "marked.json"), parse_problem(WHOLE))
