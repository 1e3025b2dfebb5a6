"""A panel file is read strictly, and each fault is told with its line and its mend."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import PanelError, Problem
from tubside.panel.reading import parse_panel
from tubside.panel.schema import Panel

FILE = "small-panel.yaml"
VARIANTS = {"drive": ["belt", "clutch"]}


def line_of(text: str, part: str) -> int:
    """Return the line on which ``part`` first stands."""
    return text.count("\n", 0, text.index(part)) + 1


def problems_of(text: str, conditions: list[str], family: str | None = None) -> list[Problem]:
    """Return what reading ``text`` tells."""
    with pytest.raises(PanelError) as caught:
        parse_panel(text, FILE, conditions, variants=VARIANTS, family=family)
    return list(caught.value.problems)


def test_a_good_file_is_read(small: Panel) -> None:
    """Tests that lamps keep their order and that lamps not named are off."""
    assert list(small.lamps) == ["a", "b"]
    assert [str(light) for light in small.lights("drain").values()] == ["3 blinks", "off"]
    assert small.counts


FAULTS = [
    # what stands there, what is put there, where the problem is told, what it says
    ("lamps: {a: 3 blinks}", "lamps: {c: 3 blinks}", "lamps: {c", "unknown lamp 'c'"),
    ("[wont_drain]", "[wont_drian]", "[wont_drian]", "did you mean 'wont_drain'?"),
    ("{a: flashing, b: steady}", "{a: on}", "{a: on}", "off, steady, flashing, or a count"),
    ("lamps: {a: 3 blinks}", "lamps: {a: 1 blink}", "{a: 1 blink}", "count from 2 to"),
    ("lamps: {a: 3 blinks}", "lamps: {a: 99 blinks}", "{a: 99", "cannot be '99 blinks'"),
    ("    sound: pulses", "    sound: notes", "    sound: notes", "cannot make"),
    ("    sound: pulses", "    sound: song", "    sound: song", "cannot be 'song'"),
    ("lamps: {a: 4 blinks}", "lamps: {a: 3 blinks}", "drain-again", "the same as 'drain'"),
    ("label: right", "label: Left", "b: {label", "also names lamp 'a'"),
    ("label: right", "label: A", "b: {label", "also names lamp 'a'"),
    ("x: 160, y: 50", "x: 195, y: 50", "b: {label", "outside the front"),
    ("label: right", "label: wide as a barn door", "b: {label", "the label of lamp 'b' is drawn"),
    ("x: 160, y: 50", "x: 105, y: 50", "b: {label", "lies upon lamp 'a'"),
    ("radius: 10,", "radius: 40,", "draw: disc", "it reaches -10 to 70 across"),
    ("x: 10, y: 60, text", "x: 150, y: 60, text", "draw: lettering", "outside the front"),
    ("[60, 5]", "[260, 5]", "draw: stroke", "outside the front"),
    ("    gap_s: 3\n", "", "  drain:", "lacks 'gap_s'"),
    ("    gap_s: 3\n", "    gap_s: 1\n", "    gap_s: 1", "too short to be seen"),
    ("    period_s: 1.0\n", "", "  fill:", "lacks 'period_s'"),
    ("    note: Nothing", "    period_s: 1\n    note: Nothing", "    period_s: 1\n", "remove"),
    ("    source: own", "    source: mine", "    source: mine", "use one of: own"),
    ("drive: belt", "drive: string", "  variants", "no value 'string'"),
    ("drive: belt", "driven: belt", "  variants", "did you mean 'drive'?"),
    ("model: small-panel", "model: Small Panel", "model:", "'Small Panel' is no id"),
    ("draw: disc", "draw: star", "draw: star", "cannot be 'star'"),
    ("paint: hair", "paint: gold", "paint: gold", "cannot be 'gold'"),
    ("shape: bar", "colour: red", "colour: red", "cannot be 'red'"),
    ("size: 14}", "size: 0}", "size: 0}", "> 0"),
    ("size: 14}", "size: 14, wattage: 3}", "wattage", "unknown key 'wattage'"),
    ("plate:", "machine: {spin_sped: 900 rpm}\nplate:", "machine:", "did you mean 'spin_speed'?"),
    ("plate:", "machine: {spin_speed: 900}\nplate:", "machine:", "without its unit"),
    ("plate:", "machine:\n  levelness: 2\nplate:", "  levelness", "lies from 0 to 1"),
    ("plate:", "controller: {fill_timeout: 9 kg}\nplate:", "controller:", "'9 kg'"),
]


@pytest.mark.parametrize(("there", "put", "where", "says"), FAULTS, ids=[f[1] for f in FAULTS])
def test_a_fault_is_told_with_its_line(
    small_text: str, conditions: list[str], *, there: str, put: str, where: str, says: str
) -> None:
    """Tests that a fault put into a good file is told at its line, with how to mend it."""
    assert there in small_text
    text = small_text.replace(there, put, 1)
    told = {problem.line: str(problem) for problem in problems_of(text, conditions)}
    line = line_of(text, where)
    assert line in told, told
    assert told[line].startswith(f"{FILE}:{line}: ")
    assert says in told[line]


def test_the_family_is_the_packs(small_text: str, conditions: list[str]) -> None:
    """Tests that a panel in the wrong pack's folder is refused."""
    (problem,) = problems_of(small_text, conditions, family="front_load")
    assert problem.line == line_of(small_text, "family:")
    assert "front_load" in problem.mend


def test_all_faults_are_told_at_once(small_text: str, conditions: list[str]) -> None:
    """Tests that two faults far apart give two problems, in the order of lines."""
    text = small_text.replace("x: 160, y: 50", "x: 260, y: 50").replace("[no_power]", "[no_powr]")
    lines = [problem.line for problem in problems_of(text, conditions)]
    assert lines == sorted(lines)
    assert {line_of(text, "b: {label"), line_of(text, "[no_powr]")} <= set(lines)


def test_an_empty_panel_is_refused(small_text: str, conditions: list[str]) -> None:
    """Tests that a panel with no lamp and no indication is told so."""
    text = small_text[: small_text.index("lamps:")] + "lamps: {}\nsounds: {}\nindications: {}\n"
    said = " ".join(problem.what for problem in problems_of(text, conditions))
    assert "no lamps" in said
    assert "no indications" in said


@given(st.data())
def test_a_spoilt_file_gives_problems_and_nothing_else(
    small_text: str, conditions: list[str], data: st.DataObject
) -> None:
    """Tests that any text put anywhere is read, or refused with a line of the file."""
    at = data.draw(st.integers(0, len(small_text)))
    upto = data.draw(st.integers(at, min(at + 20, len(small_text))))
    text = small_text[:at] + data.draw(st.text(max_size=8)) + small_text[upto:]
    problems: tuple[Problem, ...] | None = None
    try:
        parse_panel(text, FILE, conditions, variants=VARIANTS)
    except PanelError as refused:
        problems = refused.problems
    assert problems != ()
    assert all(1 <= problem.line <= text.count("\n") + 2 for problem in problems or ())
