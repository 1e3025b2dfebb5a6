"""A played job ends at the hidden cause, adds up, and stops at once where it is dangerous."""

from __future__ import annotations

from pathlib import Path

import pytest

from tubside.cli.demo_job import DemoJob, demo_jobs
from tubside.errors import UnknownNameError
from tubside.pack.compiling import compile_pack
from tubside.pack.reading import PackSource
from tubside.service.job_file import parse_job
from tubside.service.knowledge import Knowledge, knowledge_of
from tubside.service.play import Played, Truth, play

CALLS = {
    "drain-hose-kinked": "reported: [wont_drain]\nwhen: drain\nhow_often: every time\n",
    "pump-object": "reported: [wont_drain]\nwhen: drain\nhow_often: every time\n",
    "pump-failed": "reported: [wont_drain]\nwhen: drain\nhow_often: every time\n",
    "tap-closed": "reported: [no_water]\nwhen: fill\njust_moved: true\n",
    "inlet-screens-blocked": "reported: [no_water]\nwhen: fill\n",
    "load-bunched": "reported: [out_of_balance]\nwhen: spin\n",
}
DEMO = demo_jobs()


@pytest.fixture(scope="module")
def small(small_pack: PackSource) -> Knowledge:
    """Return the small pack as a job needs it."""
    return Knowledge(small_pack.pack, compile_pack(small_pack.pack, "small"), None)


def played(small: Knowledge, truth: Truth, call: str) -> Played:
    """Return a job of the small pack played to its end."""
    return play(parse_job(f"family: small\n{call}"), small, truth, 300)


def of_demo(job: DemoJob) -> Played:
    """Return one job of the demonstration played to its end."""
    return play(job.source, knowledge_of(job.source.job), job.file.truth, 1000)


@pytest.mark.parametrize("cause", CALLS)
def test_the_play_ends_at_the_true_cause(small: Knowledge, cause: str) -> None:
    """Tests that the advice finds and mends whatever is hidden, if it is worth mending."""
    got = played(small, Truth(cause=cause), CALLS[cause])
    assert got.end == "mended"
    assert got.found == cause


@pytest.mark.parametrize("cause", CALLS)
def test_the_cost_adds_up(small: Knowledge, cause: str) -> None:
    """Tests that what was spent is the sum of all steps, each at its advised cost."""
    got = played(small, Truth(cause=cause), CALLS[cause])
    sums = [sum(t.step.cost for t in got.turns[: n + 1]) for n in range(len(got.turns))]
    assert [turn.spent for turn in got.turns] == pytest.approx(sums)
    assert got.spent == pytest.approx(sums[-1])
    assert all(turn.step.cost > 0 for turn in got.turns)


def test_every_step_is_the_first_advised(small: Knowledge) -> None:
    """Tests that no step is scripted: each is what the advice before it puts first."""
    got = played(small, Truth(cause="pump-failed"), CALLS["pump-failed"])
    assert [turn.step for turn in got.turns] == [turn.before.steps[0] for turn in got.turns]
    assert got.turns[0].before is got.first
    assert got.turns[-1].after is got.last


def test_a_truth_may_say_otherwise(small: Knowledge) -> None:
    """Tests that answers and re-runs listed in the truth come before the likeliest ones."""
    plain = played(small, Truth(cause="pump-failed"), CALLS["pump-failed"])
    place, first = next((n, t) for n, t in enumerate(plain.turns) if t.step.kind == "check")
    name = small.model.names.checks[first.step.index]
    told = Truth(cause="pump-failed", answers={name: "not sure"})
    got = played(small, told, CALLS["pump-failed"])
    assert first.outcome != "not sure"
    assert (got.turns[place].step, got.turns[place].outcome) == (first.step, "not sure")

    stubborn = Truth(cause="tap-closed", reruns={"open-taps": "still-fails"})
    remedies = [
        turn.outcome
        for turn in played(small, stubborn, CALLS["tap-closed"]).turns
        if turn.step.kind == "remedy" and small.model.names.remedies[turn.step.index] == "open-taps"
    ]
    assert set(remedies) == {"still-fails"}


def test_a_danger_at_the_call_stops_at_once(small: Knowledge) -> None:
    """Tests that nothing is done and nothing spent when the call itself is dangerous."""
    got = played(small, Truth(cause="motor-earthed"), "reported: [tripping]\n")
    assert (got.end, got.turns, got.spent) == ("made safe", (), 0.0)


def test_a_danger_found_on_the_way_stops_at_once(small: Knowledge) -> None:
    """Tests that an answer that tells of danger is the last thing that happens."""
    truth = Truth(cause="motor-earthed", answers={"when-trips": "yes"})
    got = played(small, truth, "reported: [no_power]\nwhen: power\n")
    asked = [
        small.model.names.checks[turn.step.index] for turn in got.turns if turn.step.kind == "check"
    ]
    assert got.end == "made safe"
    assert asked[-1] == "when-trips"
    assert got.last.dangers == ("tripping",)


@pytest.mark.parametrize(
    ("truth", "told"),
    [
        (Truth(cause="pump-objekt"), "did you mean 'pump-object'?"),
        (Truth(cause="pump-object", answers={"drain-sond": "hums"}), "'drain-sound'"),
        (Truth(cause="pump-object", answers={"drain-sound": "hms"}), "'hums'"),
        (Truth(cause="pump-object", reruns={"clear-pmp": "works"}), "'clear-pump'"),
    ],
)
def test_a_truth_with_a_strange_name_is_refused(small: Knowledge, truth: Truth, told: str) -> None:
    """Tests that a truth naming what the pack lacks is told with the nearest name."""
    with pytest.raises(UnknownNameError, match="the truth names") as wrong:
        played(small, truth, CALLS["pump-object"])
    assert told in str(wrong.value)


@pytest.fixture(scope="module")
def shown() -> list[Played]:
    """Return the jobs of the demonstration, played."""
    return [of_demo(job) for job in DEMO]


def test_the_demonstration_ends_at_its_hidden_causes(shown: list[Played]) -> None:
    """Tests that each job ends at its hidden cause, but the dangerous one before any step."""
    found = [got.found for got in shown[:-1]]
    assert found == [job.file.truth.cause for job in DEMO[:-1]]
    assert shown[-1].turns == ()


def test_the_demonstration_shows_all_ends(shown: list[Played]) -> None:
    """Tests that a visit, a call cleared by phone, a refusal and a danger come in this order."""
    assert [got.end for got in shown] == ["mended", "mended", "not worth repairing", "made safe"]
    assert [got.last.situation.on_site for got in shown[:2]] == [True, False]
    assert sum(turn.step.kind == "visit" for turn in shown[0].turns) == 1


def test_the_truth_is_not_told_to_the_advice() -> None:
    """Tests that the same call with another truth begins with the same step."""
    job = DEMO[0]
    known = knowledge_of(job.source.job)
    other = play(job.source, known, Truth(cause="pump-failed"), 300)
    same = play(job.source, known, job.file.truth, 300)
    assert other.first.steps[0] == same.first.steps[0]
    assert other.turns[0].outcome != same.turns[0].outcome


def test_demo_files_lie_in_the_package() -> None:
    """Tests that the files are shipped beside the code that reads them."""
    import tubside.cli.demo_job as reader  # noqa: PLC0415  # its own folder is what is tested

    assert reader.FOLDER.parent == Path(reader.__file__).parent
    assert len(DEMO) == len(list(reader.FOLDER.iterdir()))
