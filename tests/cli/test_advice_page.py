"""The page of advice: what can hurt first, plain words, and nothing that a poor terminal lacks."""

from __future__ import annotations

import io
import re
from itertools import pairwise
from pathlib import Path

import pytest
from rich.console import Console

from tubside.cli.advice_page import print_advice
from tubside.cli.look import POOR, RICH, WIDEST, large_tub, tub
from tubside.pack.compiling import compile_pack
from tubside.pack.reading import PackSource
from tubside.service.advise import Advice, advise
from tubside.service.job_file import parse_job, read_job
from tubside.service.knowledge import Knowledge, knowledge_of
from tubside.service.telling import told_steps

EXAMPLES = sorted((Path(__file__).parents[2] / "docs" / "examples").glob("*.yaml"))
CALL = "family: small\nreported: [wont_drain]\nwhen: drain\nage_years: 6\n"
ON_SITE = f"{CALL}where: site\n"
ASKED = f"{CALL}facts:\n  - {{check: water-standing, outcome: 'yes', by: customer}}\n"
MENDED = f"{ON_SITE}facts:\n  - {{remedy: clear-pump, outcome: works, by: technician}}\n"
DANGER = "family: small\nreported: [tripping]\nage_years: 6\n"
SOON_OVER = "family: small\nreported: [out_of_balance]\nwhen: spin\nhow_often: once\n"
JOBS = {
    "call": CALL,
    "site": ON_SITE,
    "asked": ASKED,
    "mended": MENDED,
    "danger": DANGER,
    "once": SOON_OVER,
}


@pytest.fixture(scope="module")
def small(small_pack: PackSource) -> Knowledge:
    """Return the small pack as a job needs it."""
    return Knowledge(small_pack.pack, compile_pack(small_pack.pack, "small"), None)


def advice_of(small: Knowledge, job: str) -> Advice:
    """Return the advice on a job of the small pack."""
    return advise(parse_job(job), small, 300)


def printed(
    advice: Advice, width: int = 80, encoding: str = "utf-8", *, colour: bool = False
) -> str:
    """Return the page as a terminal of this width and encoding gets it."""
    raw = io.BytesIO()
    file = io.TextIOWrapper(raw, encoding=encoding, errors="strict", newline="\n")
    console = Console(
        file=file,
        width=width,
        force_terminal=colour,
        color_system="truecolor" if colour else None,
        highlight=False,
    )
    print_advice(advice, console)
    file.flush()
    return raw.getvalue().decode(encoding)


def flat(page: str) -> str:
    """Return the words of a page on one line, without what is drawn around them."""
    return re.sub(r"\s+", " ", re.sub(r"[│┃|╭╮╰╯━─]+", " ", page))


def places(text: str, *parts: str) -> list[int]:
    """Return where each part stands; all of them do."""
    found = [text.find(part) for part in parts]
    assert -1 not in found, dict(zip(parts, found, strict=True))
    return found


def in_order(text: str, *parts: str) -> bool:
    """Return whether all parts are there, one after the other."""
    return all(a < b for a, b in pairwise(places(text, *parts)))


def test_the_parts_come_in_their_order(small: Knowledge) -> None:
    """Tests that facts, belief, step, runners-up and what was left out follow each other."""
    page = printed(advice_of(small, ASKED))
    parts = ("On the line", "What is likely wrong", "Next step", "Runners-up", "not looked at")
    assert in_order(page, *parts)


def test_danger_comes_before_all(small: Knowledge) -> None:
    """Tests that a reported danger stands first, in words and in a thick border."""
    advice = advice_of(small, DANGER)
    page = printed(advice)
    assert page.startswith("┏━")
    assert in_order(flat(page), "STOP", "Tripping was reported", "Leave the breaker off")
    assert in_order(page, "Tripping was reported", "SMALL WASHER", "On the line", "Once it is safe")
    assert "Next step" not in page


@pytest.mark.parametrize("job", ["call", "asked", "site", "once", "danger"])
def test_cautions_come_before_the_instruction(small: Knowledge, job: str) -> None:
    """Tests that every caution of the step shown stands before what to do."""
    advice = advice_of(small, JOBS[job])
    step = told_steps(advice, 1)[0]
    page = flat(printed(advice, 92))
    told = f"“{step.say}”" if step.say else step.do
    assert in_order(page, *(c.harm for c in step.cautions), told)
    for caution in step.cautions:
        assert in_order(page, caution.harm, caution.do, told)


def test_there_is_a_step_with_cautions(small: Knowledge) -> None:
    """Tests that the test above has something to test."""
    assert any(told_steps(advice_of(small, JOBS[job]), 1)[0].cautions for job in ("call", "site"))


@pytest.mark.parametrize("job", ["call", "asked", "site"])
def test_every_outcome_can_be_chosen(small: Knowledge, job: str) -> None:
    """Tests that each outcome is listed, and the two that tell nothing always."""
    advice = advice_of(small, JOBS[job])
    step = told_steps(advice, 1)[0]
    page = printed(advice)
    nothing = ["not done"] if step.kind == "remedy" else ["not sure", "could not look"]
    for outcome in [*(name for name, _ in step.outcomes), *nothing]:
        assert f"outcome: {outcome}" in page


def test_what_it_takes_is_told(small: Knowledge) -> None:
    """Tests that minutes, cost, the job's expected cost and the reason stand with the step."""
    page = flat(printed(advice_of(small, CALL)))
    assert re.search(r"Takes [\d.]+ minutes?\. Costs [\d.]+ dollars?; the job to its end", page)
    assert re.search(r"about [\d.]+ dollars on average", page)
    assert "Why: " in page


def test_each_fact_has_its_weight(small: Knowledge) -> None:
    """Tests that a fact that speaks for the leading cause says so: mark, word, number."""
    advice = advice_of(small, ASKED)
    page = printed(advice)
    title = small.pack.conditions["wont_drain"].title
    assert re.search(rf"Reported: {title} .*▲ (strong|some) +\+\d+ dB", page)
    assert "▲ speaks for, ▽ against" in page


def test_level_number_and_word_stand_together(small: Knowledge) -> None:
    """Tests that each cause shown has its tub, its number and its plain word in one row."""
    advice = advice_of(small, CALL)
    rows = [row for row in printed(advice).splitlines() if "▏" in row and "%" in row]
    assert len(rows) >= 3
    words = "most likely|quite possible|possible|unlikely|under 1 %"
    for row, cause in zip(rows, advice.causes, strict=False):
        assert re.search(rf"▕[ ▁▂▃▄▅▆▇█]+▏ +[\w. ]+ % +({words}) +\S", row), row
        assert cause.title[1:20] in row


def test_a_finished_job_says_what_was_probably_wrong(small: Knowledge) -> None:
    """Tests that after a re-run that passed no step follows, and the doubt left is told."""
    page = printed(advice_of(small, MENDED))
    assert in_order(page, "What was probably wrong", "It runs", "Chance that something is left")
    assert "Next step" not in page


@pytest.mark.parametrize("job", JOBS)
@pytest.mark.parametrize("width", [80, 60, 200])
def test_no_line_is_too_wide(small: Knowledge, job: str, width: int) -> None:
    """Tests that the page fits the terminal, and on a wide one stays readable."""
    lines = printed(advice_of(small, JOBS[job]), width).splitlines()
    assert max(map(len, lines)) <= min(width, WIDEST)


def test_a_long_fact_stays_in_its_column(small: Knowledge) -> None:
    """Tests that what does not fit on the line of a fact goes on below its first word."""
    page = printed(advice_of(small, ASKED), 44)
    facts = page.partition("On the line\n")[2].partition("\n\n")[0].splitlines()[1:]
    assert len(facts) > len(advice_of(small, ASKED).weighed)
    assert all(line.startswith("  ") for line in facts)


@pytest.mark.parametrize("job", JOBS)
@pytest.mark.parametrize("encoding", ["ascii", "latin-1"])
def test_a_poor_terminal_gets_all_of_it(small: Knowledge, job: str, encoding: str) -> None:
    """Tests that without Unicode nothing fails and the same words are said."""
    advice = advice_of(small, JOBS[job])
    poor, rich = printed(advice, encoding=encoding), printed(advice)
    assert poor.isascii()
    assert re.findall(r"[A-Za-z]{3,}", poor) == re.findall(r"[A-Za-z]{3,}", rich)


def test_colour_adds_nothing_to_the_words(small: Knowledge) -> None:
    """Tests that the page in colour is the plain one once its colours are taken out."""
    advice = advice_of(small, DANGER)
    coloured = printed(advice, colour=True)
    assert "\x1b[" in coloured
    assert re.sub(r"\x1b\[[\d;]*m", "", coloured) == printed(advice)


def test_amber_and_green_are_not_used(small: Knowledge) -> None:
    """Tests that only the look's own colours appear: copper, enamel, rinse blue, and stop."""
    page = printed(advice_of(small, DANGER), colour=True)
    used = set(re.findall(r"[34]8;2;(\d+;\d+;\d+)", page))
    own = {"180;103;47", "74;144;181", "194;72;58", "251;250;246", "29;78;104"}
    assert used <= own
    assert re.findall(r"\x1b\[(?:\d;)*(?:3[1-6]|9[1-6])m", page) == []


def test_a_tub_rises_with_the_chance() -> None:
    """Tests that water never falls as the chance grows, and that a real chance shows."""
    for marks in (RICH, POOR):
        heights = [marks.levels.index(tub(marks, n / 100).plain[1]) for n in range(101)]
        assert heights == sorted(heights)
    assert tub(RICH, 0.005).plain == "▕   ▏"
    assert tub(RICH, 0.02).plain == "▕▁▁▁▏"
    assert tub(RICH, 1.0).plain == "▕███▏"
    assert large_tub(RICH, 0.46).plain.splitlines()[:2] == ["▕      ▏", "▕▇▇▇▇▇▇▏"]


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_examples_of_the_pages_run(path: Path) -> None:
    """Tests that each job file of the pages gets its advice from the shipped packs."""
    source = read_job(path)
    page = printed(advise(source, knowledge_of(source.job), 1000))
    assert in_order(page, "On the line", "What ", " wrong", "Sets of causes not looked at")


def test_there_are_examples() -> None:
    """Tests that the folder of examples is where it is looked for."""
    assert {"call", "danger", "family"} <= {path.stem for path in EXAMPLES}
