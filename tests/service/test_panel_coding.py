"""What a clip tells of the panel enters the belief once, and can be taken back."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import cache

import numpy as np
import pytest

from tubside.diagnosis.belief import believe
from tubside.diagnosis.facts import evidence_of
from tubside.errors import JobFileError
from tubside.panel.schema import Panel
from tubside.service.coding import coded_facts
from tubside.service.job_file import JobFile, JobSource, parse_job
from tubside.service.knowledge import Knowledge, knowledge_of
from tubside.service.panel_coding import NOTHING_SHOWN
from tubside.service.pocket import pocket_of
from tubside.service.pocket_reckoning import Pocket, reckon
from tubside.service.pocket_rules import rules_json
from tubside.service.recording_records import RecordingRead
from tubside.service.records import Body, Indication, Machine, Retract
from tubside.service.replay import source_of
from tubside.service.views import Entry

MODEL = "brackwater-wren"
SETS = 400


@cache
def known() -> Knowledge:
    """The pack and panel of the demo's front-load machine."""
    return knowledge_of(JobFile(model=MODEL))


def panel() -> Panel:
    """Its panel."""
    found = known().panel
    assert found is not None
    return found


def favouring(message: str, by: float = 50.0) -> dict[str, float]:
    """Likelihoods that speak for one message."""
    names = [*panel().indications, NOTHING_SHOWN]
    return {name: 1.0 if name == message else 1.0 / by for name in names}


def first_message() -> str:
    """A message that means something."""
    return next(name for name, shown in panel().indications.items() if shown.conditions)


def second_message() -> str:
    """Another message of the panel."""
    return list(panel().indications)[1]


def read(message: str, *refs: str, of: str = "lamps") -> RecordingRead:
    """A reading of clips that speaks for a message."""
    return RecordingRead(refs=list(refs), of=of, likelihoods=favouring(message))  # type: ignore[arg-type]  # a known kind


def job_of(*bodies: Body, dead: int | None = None) -> JobSource:
    """The job file of these facts after the machine was named, one perhaps taken back."""
    at = datetime(2026, 3, 2, 8, tzinfo=UTC)
    told = (Machine(model=MODEL, family=panel().family), *bodies)
    entries = [
        Entry(
            f"fact-{n:04}", "here", at, body, None, "later" if n == dead else None, doubtful=False
        )
        for n, body in enumerate(told)
    ]
    return source_of(entries)


def chances(source: JobSource) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """The belief in each cause."""
    evidence = evidence_of(known().model, coded_facts(source, known()))
    return np.asarray(believe(known().model, evidence, SETS).now())


def test_a_reading_moves_the_belief() -> None:
    """Tests that a clip raises what it speaks for, as a job file's clip does."""
    message = first_message()
    listed = ", ".join(f"{name}: {value}" for name, value in favouring(message).items())
    by_file = parse_job(f"model: {MODEL}\nclip:\n  lamps: {{{listed}}}\n")
    by_fact = job_of(read(message, "clip-0001"))
    assert by_fact.job.clip == by_file.job.clip
    assert chances(by_fact) == pytest.approx(chances(by_file), abs=1e-12)
    assert np.abs(chances(by_fact) - chances(job_of())).max() > 0.01


def test_the_same_clip_read_twice_says_no_more() -> None:
    """Tests that a second reading of a clip adds nothing."""
    once, twice = read(second_message(), "clip-0001"), read(second_message(), "clip-0001")
    assert chances(job_of(once, twice)) == pytest.approx(chances(job_of(once)), abs=1e-15)


def test_clips_read_together_stand_for_each() -> None:
    """Tests that the reading of two clips takes the place of that of the first."""
    first, both = (
        read(second_message(), "clip-0001"),
        read(first_message(), "clip-0001", "clip-0002"),
    )
    assert chances(job_of(first, both)) == pytest.approx(chances(job_of(both)), abs=1e-15)


def test_lamps_and_sound_both_count() -> None:
    """Tests that a sound adds to the lamps and does not take their place."""
    message = first_message()
    lamps, sound = read(message, "clip-0001"), read(message, "clip-0001", of="sound")
    job = job_of(lamps, sound).job
    assert job.clip is not None
    assert job.clip.lamps == job.clip.sound == favouring(message)
    squared = {name: value**2 for name, value in favouring(message).items()}
    one = RecordingRead(refs=["clip-0001"], of="lamps", likelihoods=squared)
    assert chances(job_of(lamps, sound)) == pytest.approx(chances(job_of(one)), abs=1e-12)


def test_what_was_told_and_filmed_are_summed_out_together() -> None:
    """Tests that the facts' order does not matter, and that both speak of one message."""
    lights = {lamp: str(light) for lamp, light in panel().lights(second_message()).items()}
    told, filmed = Indication(lamps=lights), read(second_message(), "clip-0001")
    assert chances(job_of(told, filmed)) == pytest.approx(chances(job_of(filmed, told)), abs=1e-15)
    labels = [fact.label for fact in coded_facts(job_of(told, filmed), known())]
    assert sum(label.startswith("panel: ") for label in labels) == 1
    assert "lamps on a clip" in labels


def test_a_reading_can_be_taken_back() -> None:
    """Tests that a reading taken back leaves the belief as it was before."""
    filmed = read(second_message(), "clip-0001")
    taken = job_of(filmed, Retract(fact="fact-0001"), dead=1)
    assert taken.job.clip is None
    assert chances(taken) == pytest.approx(chances(job_of()), abs=1e-15)


def test_the_phone_reckons_with_the_clip() -> None:
    """Tests that the clip is in the pocket, and that one told later is no fact to pass over."""
    source = job_of(read(first_message(), "clip-0001"))
    told = pocket_of(source, known(), SETS)
    reckoned = reckon(Pocket.of(told))
    assert reckoned.belief.now() == pytest.approx(chances(source), abs=1e-9)
    assert "recording-read" not in rules_json()["no_news"]


@pytest.mark.parametrize(
    ("value", "what", "mend"),
    [
        ("1.0", "say nothing of", "every message"),
        ("0.0", "a likelihood of 0 is none", "above 0"),
        ("-0.5", "a likelihood of -0.5 is none", "above 0"),
    ],
)
def test_a_wrong_clip_is_refused(value: str, what: str, mend: str) -> None:
    """Tests that likelihoods that cannot be are told by their line."""
    source = parse_job(f"model: {MODEL}\nclip:\n  lamps: {{{first_message()}: {value}}}\n")
    with pytest.raises(JobFileError, match=what) as told:
        coded_facts(source, known())
    assert mend in str(told.value)
    assert "job.yaml:3" in str(told.value)


def test_a_message_of_another_panel_is_refused() -> None:
    """Tests that a message that this panel has not is told, with a near one."""
    source = parse_job(f"model: {MODEL}\nclip:\n  lamps: {{{first_message()}x: 1.0}}\n")
    with pytest.raises(JobFileError, match=f"did you mean '{first_message()}'"):
        coded_facts(source, known())


def test_a_panel_taught_more_since_is_no_mistake() -> None:
    """Tests that a reading made before a message was added or taken away still counts."""
    names = [n for n in panel().indications if n != second_message()]
    values = dict.fromkeys([*names, NOTHING_SHOWN, "gone-since"], 0.5)
    values[first_message()] = 1.0
    source = job_of(RecordingRead(refs=["clip-0001"], of="lamps", likelihoods=values))
    labels = [fact.label for fact in coded_facts(source, known())]
    assert "lamps on a clip" in labels
    other = RecordingRead(refs=["clip-0001"], of="lamps", likelihoods={"of-another-model": 1.0})
    with pytest.raises(JobFileError, match="no message 'of-another-model'"):
        coded_facts(job_of(other), known())


def test_a_clip_needs_a_panel() -> None:
    """Tests that a clip of a machine of which only the family is known is refused."""
    source = parse_job("family: front-load\nclip: {lamps: {six: 1.0}}\n")
    with pytest.raises(JobFileError, match="a clip needs a known panel"):
        coded_facts(source, knowledge_of(JobFile(family="front-load")))
