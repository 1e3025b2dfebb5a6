"""Each rule finds what it is there for, in the line where it stands, and nothing else."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from msgspec import structs

from tubside.errors import Problem
from tubside.pack.check import PackReport, check_pack
from tubside.pack.reading import PackSource

Edits = tuple[str, ...]
EditPack = Callable[..., PackSource]

ANOTHER_VARIANT = """variants:
  trap: {title: t, question: q, values: {none: {title: t, share: 1}}, source: cp}
"""

ERROR_CASES: dict[str, tuple[Edits, str]] = {
    # ids
    "kebab": (("pack", "  plug-out: {harm", "  plug_Out: {harm"), "'plug_Out' is not kebab-case"),
    "snake": (("pack", "  just_moved:", "  just-moved:"), "'just-moved' is not snake_case"),
    "outcome id": (("drive", "{low: below", "{Low: below"), "'Low' is not kebab-case"),
    "value id": (("pack", "direct: {title", "no belt: {title"), "'no belt' is not kebab-case"),
    "healthy entry": (("pack", "  cleared-itself:", "  clear-itself:"), "lacks 'cleared-itself'"),
    # references
    "condition": (("water", "{no_water: .96,", "{no_watr: .96,"), "unknown condition 'no_watr'"),
    "said_as": (("pack", "{wont_spin: .05}", "{wont_spni: .05}"), "unknown condition 'wont_spni'"),
    "said as itself": (("pack", "{wont_spin: .05}", "{wont_drain: .05}"), "names itself"),
    "stage": (("pack", "stages: [drain]", "stages: [drane]"), "unknown stage 'drane'"),
    "leads_to": (("drain", "{pump-failed: 5}", "{pump-fialed: 5}"), "unknown cause 'pump-fialed'"),
    "axis": (("drive", "variants: {drive:", "variants: {drives:"), "unknown variant 'drives'"),
    "value": (("drive", "variants: {drive: [belt]}", "variants: {drive: [belts]}"), "'belts'"),
    "finding's cause": (
        ("water", "tap-closed: [.95, .05]", "tap-clsed: [.95, .05]"),
        "unknown cause 'tap-clsed'",
    ),
    "danger outcome": (("drive", 'danger: {"yes"', "danger: {maybe"), "unknown outcome 'maybe'"),
    "finding": (("drive", "finding: trips\n", "finding: trip\n"), "unknown finding 'trip'"),
    "variant": (("drive", "variant: drive\n", "variant: drivee\n"), "unknown variant 'drivee'"),
    "caution": (("drain", "[plug-out, scald]", "[plug-out, scold]"), "unknown caution 'scold'"),
    "cover": (
        (
            "water",
            "finding: valve-coil-open\n    behind: back-panel",
            "finding: valve-coil-open\n    behind: back",
        ),
        "unknown cover 'back'",
    ),
    "part": (("drive", "parts: [belt]", "parts: [belts]"), "unknown part 'belts'"),
    "clears": (("drive", "belt-worn: {technician", "belt-wron: {technician"), "'belt-wron'"),
    "context check": (("pack", "{check: moved-lately", "{check: moved-early"), "'moved-early'"),
    "context outcome": (("pack", 'if_true: "yes"', "if_true: moved"), "unknown outcome 'moved'"),
    "source": (
        ("drain", "{pump-failed: worked}", "{pump-failed: wrked}"),
        "unknown source 'wrked'",
    ),
    "source row": (("drain", "{pump-failed: worked}", "{belt-worn: worked}"), "unknown row"),
    "record's source": (("pack", "second_fault_source: cp", "second_fault_source: cq"), "'cq'"),
    "nobody": (
        (
            "drain",
            "how: Pull the plug, swap the pump.\n    where: site\n    who: [technician]",
            "how: Pull the plug, swap the pump.\n    where: site\n    who: []",
        ),
        "names none",
    ),
    "two questions": (
        ("drive", "variant: drive\n", "variant: drive\n    finding: trips\n"),
        "two things",
    ),
    "no question": (("drive", "    variant: drive\n", ""), "looks at nothing"),
    # sources
    "source field": (("drain", "source: {weight: worked", "source: {wieght: worked"), "'wieght'"),
    "no rest": (("drain", "{weight: worked, rest: cp}", "{weight: worked}"), "the other fields"),
    "empty mark": (("pack", '"common practice, no source"', '" "'), "tells nothing"),
    # numbers
    "probability": (("water", "shows: .9\n", "shows: 1.9\n"), "is 1.9, which is no probability"),
    "clearing chance": (("water", "customer: .9}", "customer: 9}"), "which is no probability"),
    "negative minutes": (("water", "minutes: 18", "minutes: -18"), "is -18"),
    "no weight": (
        ("drive", "weight: 60", "weight: 0", "drive", "weight: 100", "weight: 160"),
        "'causes.belt-worn.weight' is 0",
    ),
    "negative litres": (("drain", "litres: 10", "litres: -10"), "litres' is -10"),
    "huge minutes": (("water", "minutes: 18", "minutes: 1e9"), "is 1e+09"),
    "steep ageing": (("drain", "ageing: 1.5", "ageing: 15"), "ageing' is 15"),
    "row sum": (
        ("water", "inlet-screens-blocked: [.95, .05]", "inlet-screens-blocked: [.95, .04]"),
        "sums to 0.99",
    ),
    "reported sum": (("drain", "{wont_drain: .86", "{wont_drain: .85"), "sums to 0.99"),
    "age mix": (("pack", "[.05, .05, .1", "[.05, .04, .1"), "'age_mix' sums to 0.99"),
    "shares": (("pack", "share: .7}", "share: .6}"), "'variants.drive.values' sums to 0.9"),
    "thousand": (("drive", "weight: 60", "weight: 61"), "sum to 1001"),
    "said too much": (("pack", "{wont_spin: .05}", "{wont_spin: .99}"), "is said as others"),
    "how often": (
        ("pack", "{every-time: .1, sometimes: .2, once: .7}", "{sometimes: .3, once: .7}"),
        "'every-time'",
    ),
    "prices": (
        ("pack", "price_low: 15, price_high: 45", "price_low: 45, price_high: 15"),
        "at least 45",
    ),
    "weak lead": (("drain", "{pump-failed: 5}", "{pump-failed: 1}"), "raises nothing"),
    # rows
    "both shapes": (
        (
            "water",
            "graded: {open:",
            "kinds: {a: a, b: b}\n    dominance: [inlet-valve-stuck]\n    graded: {open:",
        ),
        "both",
    ),
    "no shape": (
        ("water", "    graded: {open: no reading, normal: within its range}\n", ""),
        "neither",
    ),
    "row length": (("drive", "[.4, .55, .05]", "[.4, .6]"), "has 2 numbers"),
    "healthy length": (("drive", "[.004, .056, .94]", "[.06, .94]"), "the row 'healthy'"),
    "dominance": (
        ("drain", "[pump-failed, pump-object]", "[pump-failed]"),
        "does not list its causes",
    ),
    "graded dominance": (
        ("water", "    graded: {open:", "    dominance: [inlet-valve-stuck]\n    graded: {open:"),
        "needs no dominance",
    ),
    # telling
    "two axes": (
        (
            "drive",
            "variants: {drive: [belt]}",
            "variants: {drive: [belt], trap: [none]}",
            "pack",
            "variants:\n",
            ANOTHER_VARIANT,
        ),
        "depends on 2 variants",
    ),
    "mutual lead": (
        ("drain", "shows: .95\n", "shows: .95\n    leads_to: {pump-object: 3}\n"),
        "lead to each other",
    ),
    "condition without cause": (
        (
            "drive",
            "{out_of_balance: .7, wont_spin: .28,",
            "{wont_spin: .98,",
            "drive",
            "wont_drain: .1, out_of_balance: .04}",
            "wont_drain: .14}",
        ),
        "no cause raises the condition 'out_of_balance'",
    ),
    "finding without check": (
        ("drive", "finding: trips\n", "finding: earth-leak\n"),
        "finding 'trips'",
    ),
    # clearing
    "cause without remedy": (
        ("drive", "motor-earthed: {technician: .97}", "socket-worn: {technician: .97}"),
        "nothing clears the cause 'motor-earthed'",
    ),
    "cause without trade": (
        ("drive", "[electrician]", "[plumber]"),
        "clears the cause 'socket-worn'",
    ),
    "clearing by a stranger": (
        ("drive", "belt-worn: {technician: .97}", "belt-worn: {technician: .97, customer: .5}"),
        "the customer clears 'belt-worn', who may not",
    ),
    "clearing by nobody": (
        ("drain", "pump-object: {technician: .9}", "pump-object: {}"),
        "nobody's chance",
    ),
    "clears nothing": (
        ("water", "    clears:\n      inlet-valve-stuck: {technician: .97}", "    clears: {}"),
        "clears nothing",
    ),
    "hand-over without trade": (("pack", "    trade: electrician\n", ""), "lacks trade"),
    "trade without hand-over": (
        ("pack", "kind: scrap", "kind: scrap\n    trade: plumber"),
        "names a trade",
    ),
}

WARNING_CASES: dict[str, tuple[Edits, str]] = {
    "folder": (("pack", "family: small_pack", "family: other"), "its folder 'small_pack'"),
    "unused part": (
        (
            "pack",
            "parts:\n",
            "parts:\n  hose: {title: h, price_low: 1, price_high: 2, carried: true, source: cp}\n",
        ),
        "the part 'hose'",
    ),
    "unused caution": (
        ("pack", "cautions:\n", "cautions:\n  heavy: {harm: h, do: d}\n"),
        "the caution 'heavy'",
    ),
    "same rank": (
        ("pack", "stages: [power], rank: 1", "stages: [power], rank: 2"),
        "same rank in stage 'power'",
    ),
    "certain": (("drive", "socket-worn: [.85, .15]", "socket-worn: [1, 0]"), "exactly 0 or 1"),
    "turned": (
        (
            "drive",
            '{"yes": on one side, "no": even}',
            '{"no": even, "yes": on one side}',
            "drive",
            "healthy: [.08, .92]",
            "healthy: [.92, .08]",
            "drive",
            "load-bunched: [.9, .1]",
            "load-bunched: [.1, .9]",
        ),
        "a healthy machine shows the worst outcome",
    ),
    "cut pair": (
        (
            "drain",
            "healthy: [.03, .97]",
            "healthy: [.6, .4]",
            "drain",
            "drain-hose-kinked: [.93, .07]",
            "drain-hose-kinked: [.1, .9]",
            "drain",
            "pump-object: [.93, .07]",
            "pump-object: [.1, .9]",
        ),
        "drain-hose-kinked and pump-object together",
    ),
    "unasked variant": (
        ("drive", "variant: drive\n", "finding: belt-state\n"),
        "settles the variant 'drive'",
    ),
    "unaltered finding": (
        ("water", "    causes:\n      tap-closed: [.3, .7]", "    causes: {}"),
        "alters the finding 'moved'",
    ),
    "said to clear": (
        ("drive", "[electrician]", "[electrician, plumber]"),
        "cleared by the plumber",
    ),
    "lets customers": (
        (
            "drain",
            "    kind: user\n    weight: 180\n    cleared_by: [customer, technician]",
            "    kind: user\n    weight: 180\n    cleared_by: [technician]",
        ),
        "lets customers clear 'pump-object'",
    ),
    "no caution": (("drain", "[plug-out, scald]", "[]"), "'clear-pump' shows no caution"),
}


def found(report: tuple[Problem, ...], what: str) -> list[Problem]:
    """Return the problems that say ``what``."""
    return [problem for problem in report if what in problem.what]


def test_the_small_pack_is_clean(small_pack: PackSource) -> None:
    """Tests that a pack that can be true has neither errors nor warnings."""
    assert check_pack(small_pack) == PackReport((), ())


@pytest.mark.parametrize("case", ERROR_CASES)
def test_an_error_is_found(edit_pack: EditPack, case: str) -> None:
    """Tests that one edit is one error in the edited file, with a way to mend it."""
    edits, what = ERROR_CASES[case]
    (problem,) = found(check_pack(edit_pack(*edits)).errors, what)
    assert Path(problem.file).is_file()
    assert problem.line > 1
    assert problem.mend


def test_a_pack_without_causes_is_an_error(small_pack: PackSource) -> None:
    """Tests that an empty section is told and checked to the end."""
    pack = structs.replace(small_pack.pack, causes={})
    report = check_pack(PackSource(pack, small_pack.document, ""))
    assert found(report.errors, "the section 'causes' is empty")


@pytest.mark.parametrize("case", WARNING_CASES)
def test_a_warning_is_given(edit_pack: EditPack, case: str) -> None:
    """Tests that one edit is one warning, and no error."""
    edits, what = WARNING_CASES[case]
    report = check_pack(edit_pack(*edits))
    assert found(report.warnings, what)
    assert report.errors == ()
