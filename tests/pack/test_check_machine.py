"""Tests of the rules about a pack's machine: what is wrong is told in the line where it stands."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from small_machine import add_machine
from tubside.errors import PackError
from tubside.pack.check import check_pack
from tubside.pack.loading import load_pack
from tubside.pack.reading import PackSource

EditPack = Callable[..., PackSource]

MOVE = ("water", "    weight: 120\n", "    weight: 120\n    moves: {%s}\n")


def with_moves(edit_pack: EditPack, moves: str) -> PackSource:
    """Return the pack with these moves of the cause tap-closed."""
    return edit_pack("water", MOVE[1], MOVE[2] % moves)


def test_a_whole_machine_is_sound(edit_pack: EditPack, small_pack_copy: Path) -> None:
    """Tests that a machine with all its values and a cause that moves it give no problem."""
    add_machine(small_pack_copy, cold_pressure="{value: 300 kPa, spread: 0.3, source: cp}")
    source = with_moves(edit_pack, "cold_tap_open: {times: 0.05, spread: 0.8}")
    report = check_pack(source)
    assert report.errors == ()
    assert report.warnings == ()


@pytest.mark.parametrize(
    ("own", "said", "mend"),
    [
        ({"cold_pressure": "{value: 300, source: cp}"}, "without its unit", "write"),
        ({"cold_pressure": "{value: 14 C, source: cp}"}, "cold_pressure", "pressure"),
        ({"pump_strength": "{value: 1.5, source: cp}"}, "lies from 0 to 1", "limits"),
        ({"valve_leak": "{value: 0, spread: 0.2, source: cp}"}, "a share of a value", "unit"),
        ({"fill_timeout": "{value: 600 ohm, source: cp}"}, "fill_timeout", "time"),
        ({"cold_pressure": "{value: 300 kPa, source: cq}"}, "unknown source 'cq'", "cp"),
    ],
)
def test_values_that_cannot_be(
    edit_pack: EditPack, small_pack_copy: Path, own: dict[str, str], said: str, mend: str
) -> None:
    """Tests that a wrong value is told in its own line, once."""
    add_machine(small_pack_copy, **own)
    (problem,) = check_pack(edit_pack()).errors
    assert said in problem.what
    assert mend in problem.mend
    lines = Path(problem.file).read_text(encoding="utf-8").splitlines()
    assert lines[problem.line - 1].startswith(f"  {next(iter(own))}:")


def test_unknown_and_missing_names(edit_pack: EditPack, small_pack_copy: Path) -> None:
    """Tests that a name spelt wrong is told with the right one, and is missed elsewhere."""
    add_machine(small_pack_copy)
    file = small_pack_copy / "machine.yaml"
    text = file.read_text(encoding="utf-8").replace("  cold_pressure:", "  cold_presure:")
    file.write_text(text.replace("  fill_timeout:", "  fil_timeout:"), encoding="utf-8")
    found = {(problem.what, problem.mend) for problem in check_pack(edit_pack()).errors}
    assert found == {
        ("'machine' names an unknown parameter 'cold_presure'", "did you mean 'cold_pressure'?"),
        ("'controller' names an unknown limit 'fil_timeout'", "did you mean 'fill_timeout'?"),
        ("'machine' lacks cold_pressure", "add a value for each"),
        ("'controller' lacks fill_timeout", "add a value for each"),
    }


@pytest.mark.parametrize(
    ("moves", "said"),
    [
        ("cold_tap_opn: {to: 0}", "unknown parameter 'cold_tap_opn'"),
        ("cold_tap_open: {to: 0, times: 2}", "has times and to"),
        ("cold_tap_open: {}", "says nothing"),
        ("level_offset: {times: 2}", "may be negative"),
        ("cold_pressure: {to: 14 C}", "14 C"),
        ("cold_tap_open: {to: 1.5}", "lies from 0 to 1"),
    ],
)
def test_moves_that_cannot_be(
    edit_pack: EditPack, small_pack_copy: Path, moves: str, said: str
) -> None:
    """Tests that a wrong move is told in its own line, once, by the check and on loading."""
    add_machine(small_pack_copy)
    source = with_moves(edit_pack, moves)
    (problem,) = check_pack(source).errors
    assert said in problem.what
    lines = Path(problem.file).read_text(encoding="utf-8").splitlines()
    assert "moves:" in lines[problem.line - 1]
    with pytest.raises(PackError, match=r"water\.yaml") as loading:
        load_pack(small_pack_copy, small_pack_copy / "kept")
    assert loading.value.problems == (problem,)


def test_moves_without_a_machine_are_told(edit_pack: EditPack) -> None:
    """Tests that a pack whose causes move what it does not describe gets a warning."""
    report = check_pack(with_moves(edit_pack, "cold_tap_open: {to: 0}"))
    assert report.errors == ()
    assert [problem.what for problem in report.warnings] == [
        "'tap-closed' moves a machine that the pack does not describe"
    ]


@pytest.mark.parametrize(
    ("moves", "said"),
    [
        ("}\n    without_physics: {no_water: asked by phone", "moves nothing"),
        (
            "cold_tap_open: {to: 0}}\n    without_physics: {tripping: the fuse",
            "is not reported as 'tripping'",
        ),
    ],
)
def test_exceptions_that_except_nothing(
    edit_pack: EditPack, small_pack_copy: Path, moves: str, said: str
) -> None:
    """Tests that ``without_physics`` must belong to moves and to the cause's table."""
    add_machine(small_pack_copy)
    (problem,) = check_pack(with_moves(edit_pack, moves)).errors
    assert said in problem.what
