"""Tests of coding the facts of a job file."""

from __future__ import annotations

import numpy as np
import pytest

from tubside.diagnosis.evidence import FAILS, WORKS, Answer, Symptom, Treatment
from tubside.diagnosis.facts import (
    Age,
    Coded,
    HowOften,
    PanelSeen,
    Reported,
    Settled,
    SymptomSaid,
    Words,
)
from tubside.errors import JobFileError
from tubside.pack.fault_model import FaultModel
from tubside.pack.reading import PackSource
from tubside.service.coding import ASKED, STAGE_SLIP, WRONG_VARIANT, coded_facts, outcomes_of
from tubside.service.job_file import parse_job
from tubside.service.knowledge import Knowledge, knowledge_of_model, models


@pytest.fixture(scope="module")
def known(small_pack: PackSource, small_model: FaultModel) -> Knowledge:
    """The small pack, no panel known."""
    return Knowledge(small_pack.pack, small_model, None)


def coded(known: Knowledge, *lines: str) -> list[Coded]:
    """Return the coded facts of a job of the small family."""
    source = parse_job("family: small\n" + "\n".join(lines))
    return [fact.coded for fact in coded_facts(source, known)]


def test_the_call(known: Knowledge) -> None:
    """Tests what was reported, in its order, and how often it happens."""
    found = coded(known, "reported: [wont_spin, wont_drain]", "how_often: sometimes")
    names = known.model.names.conditions
    assert found == [
        Reported(names.index("wont_spin")),
        Reported(names.index("wont_drain")),
        HowOften(1),
    ]


@pytest.mark.parametrize(
    ("word", "code"), [("every time", 0), ("every-time", 0), ("sometimes", 1), ("once", 2)]
)
def test_how_often(known: Knowledge, word: str, code: int) -> None:
    """Tests every word for how often."""
    assert coded(known, f"how_often: {word}") == [HowOften(code)]


def test_stage_named_and_stage_reached(known: Knowledge) -> None:
    """Tests that "when" weighs the stage named, "reached" speaks against earlier stops."""
    when, reached = coded(known, "when: drain", "reached: drain")
    assert isinstance(when, Words)
    assert isinstance(reached, Words)
    drain = known.model.names.stages.index("drain")
    assert when.likelihood == pytest.approx(known.model.complaint.at_stage[:, drain])
    # power, power, fill, drain, spin; the last condition is a symptom and hides nothing
    assert reached.likelihood.tolist() == [STAGE_SLIP] * 3 + [1.0] * 3


def test_machine(known: Knowledge) -> None:
    """Tests age and construction."""
    age, drive = coded(known, "age_years: 6.5", "variants: {drive: direct}")
    assert age == Age(6.5)
    assert isinstance(drive, Settled)
    assert (drive.axis, drive.likelihood.tolist()) == (0, [WRONG_VARIANT, 1.0])


def test_circumstances_answer_their_check(known: Knowledge) -> None:
    """Tests that a yes/no of the file is the customer's answer to a check."""
    check = known.model.names.checks.index("moved-lately")
    assert coded(known, "just_moved: true") == [Answer(check, 0, 0, 0)]
    assert coded(known, "just_moved: false") == [Answer(check, 1, 0, 0)]


def test_checks(known: Knowledge) -> None:
    """Tests whose eyes, which outcome, a new look, and nothing learned."""
    names = known.model.names.checks
    found = coded(
        known,
        "facts:",
        '  - {check: water-standing, outcome: "no"}',
        '  - {check: water-standing, outcome: "yes", by: technician, again: true}',
        "  - {check: belt-look, outcome: worn}",
        "  - {check: which-drive, outcome: direct}",
        "  - {check: taps-open, outcome: could not look}",
    )
    assert found == [
        Answer(names.index("water-standing"), 1, 0, 0),
        Answer(names.index("water-standing"), 0, 1, 0, again=True),
        Answer(names.index("belt-look"), 1, 1, 0),
        Answer(names.index("which-drive"), 1, 1, 0),
        Answer(names.index("taps-open"), -1, 0, 0),
    ]


def test_remedies(known: Knowledge) -> None:
    """Tests who clears with which chance, how the re-run went, and what was not done."""
    found = coded(
        known,
        "facts:",
        "  - {remedy: open-taps, outcome: works}",
        "  - {remedy: open-taps, outcome: still-fails, by: customer}",
        "  - {remedy: clear-pump, outcome: not re-run}",
        "  - {remedy: clear-pump, outcome: refused}",
        "  - {came_back: true}",
    )
    assert all(isinstance(one, Treatment) for one in found)
    treatments = [one for one in found if isinstance(one, Treatment)]
    tap = known.model.names.causes.index("tap-closed")
    assert [t.rerun for t in treatments] == [WORKS, FAILS, None, FAILS]
    assert [float(t.clears[tap]) for t in treatments] == [0.98, 0.9, 0.0, 0.0]
    assert not treatments[3].clears.any()


def test_conditions_asked(known: Knowledge) -> None:
    """Tests yes, no and not sure, by whom, and a new look."""
    index = known.model.names.conditions.index("wont_spin")
    found = coded(
        known,
        "facts:",
        '  - {condition: wont_spin, outcome: "yes"}',
        '  - {condition: wont_spin, outcome: "no", by: technician, again: true}',
        "  - {condition: wont_spin, outcome: not sure}",
    )
    symptoms = [one.symptom for one in found if isinstance(one, SymptomSaid)]
    assert symptoms[0] == Symptom(index, *ASKED[0], 0, again=False)
    assert symptoms[1].if_on == pytest.approx(1.0 - ASKED[1][0])
    assert symptoms[1].if_off == pytest.approx(1.0 - ASKED[1][1])
    assert (symptoms[1].observer, symptoms[1].again) == (1, True)
    assert symptoms[2].if_on == symptoms[2].if_off


def test_panel_is_read_off_the_model() -> None:
    """Tests that an indication of a demo model speaks for the conditions that it means."""
    for name in models():
        known = knowledge_of_model(name)
        assert known.panel is not None
        indication = next(n for n, one in known.panel.indications.items() if one.conditions)
        lights = known.panel.lights(indication)
        lamps = ", ".join(f"{lamp}: {light}" for lamp, light in lights.items())
        source = parse_job(f"model: {name}\nindication: {{lamps: {{{lamps}}}}}\n")
        (seen,) = [f.coded for f in coded_facts(source, known) if isinstance(f.coded, PanelSeen)]
        means = known.panel.indications[indication].conditions
        names = known.model.names.conditions
        meant = [names.index(c) for c in means]
        assert seen.likelihood[meant].min() >= np.median(seen.likelihood)
        assert seen.likelihood.min() > 0.0
        assert seen.nothing > 0.0


@pytest.mark.parametrize(
    ("lines", "line", "what", "mend"),
    [
        (["reported: [wont_drian]"], 2, "condition 'wont_drian'", "wont_drain"),
        (["when: dran"], 2, "stage 'dran'", "drain"),
        (["reached: spinn"], 2, "stage 'spinn'", "spin"),
        (["variants: {driv: belt}"], 2, "variant axis 'driv'", "drive"),
        (["variants: {drive: blet}"], 2, "drive 'blet'", "belt"),
        (["context: {just_mooved: true}"], 2, "context 'just_mooved'", "just_moved"),
        (["facts:", "  - {check: taps-opn, outcome: x}"], 3, "check 'taps-opn'", "taps-open"),
        (["facts:", "  - {check: taps-open, outcome: shut}"], 3, "outcome of taps-open 'shut'", ""),
        (["facts:", "  - {remedy: open-tap, outcome: works}"], 3, "'open-tap'", "open-taps"),
        (["facts:", "  - {remedy: open-taps, outcome: worked}"], 3, "'worked'", "works"),
        (["facts:", "  - {condition: leek, outcome: 'no'}"], 3, "condition 'leek'", ""),
        (["facts:", "  - {condition: wont_spin, outcome: maybe}"], 3, "answer 'maybe'", ""),
        (["facts:", "  - {came_back: true}"], 3, "no remedy was done before", "remedy first"),
        (["indication: {sound: none}"], 2, "needs a known panel", "name the 'model'"),
    ],
)
def test_what_the_pack_lacks_is_refused(
    known: Knowledge, lines: list[str], line: int, what: str, mend: str
) -> None:
    """Tests that every unknown id is told with its line, what it is, and how to mend it."""
    with pytest.raises(JobFileError) as caught:
        coded(known, *lines)
    (problem,) = caught.value.problems
    assert problem.line == line
    assert what in problem.what
    assert mend in problem.mend


def test_all_problems_are_told_at_once(known: Knowledge) -> None:
    """Tests that a file with three mistakes names three, by line."""
    with pytest.raises(JobFileError) as caught:
        coded(known, "reported: [a]", "when: b", "facts:", "  - {check: c, outcome: d}")
    assert [problem.line for problem in caught.value.problems] == [2, 3, 5]


def test_outcomes_of_every_check(known: Knowledge) -> None:
    """Tests that a check has its finding's outcomes, or its variant's constructions."""
    assert outcomes_of(known, "belt-look") == ("broken", "worn", "fine")
    assert outcomes_of(known, "which-drive") == ("belt", "direct")
