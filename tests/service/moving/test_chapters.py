"""Chapters to film: every indication once, danger ends them, only steps for customers."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest
from click.testing import CliRunner

from tubside.cli import main
from tubside.errors import ModelError
from tubside.pack.schema import Check, Remedy
from tubside.service.knowledge import Knowledge, knowledge_of_family, knowledge_of_model, models
from tubside.service.moving.chapter_files import LAST, Lesson, page_of, words_of
from tubside.service.moving.chapters import Chapter, chapters_of, for_customers, stop_words


@pytest.fixture(scope="module", params=models())
def known(request: pytest.FixtureRequest) -> dict[str, Knowledge]:
    """Return all about each shipped model."""
    return {str(request.param): knowledge_of_model(str(request.param))}


def steps_named(known: dict[str, Knowledge], title: str) -> list[Check | Remedy]:
    """Return the steps of the pack under a title."""
    (it,) = known.values()
    steps: list[Check | Remedy] = [*it.pack.checks.values(), *it.pack.remedies.values()]
    return [step for step in steps if step.title == title]


def test_every_indication_has_its_chapter_by_how_often_it_is_met(
    known: dict[str, Knowledge],
) -> None:
    """Tests that each is filmed once, and shares of calls fall from chapter to chapter."""
    chapters = chapters_of(known)
    (it,) = known.values()
    assert it.panel is not None
    assert sorted(one.indication for one in chapters) == sorted(it.panel.indications)
    shares = [one.share for one in chapters]
    assert shares == sorted(shares, reverse=True)
    assert 0 < sum(shares) < 1


def test_danger_ends_a_chapter(known: dict[str, Knowledge]) -> None:
    """Tests that what may mean tripping says stop and shows nothing to do."""
    for chapter in chapters_of(known):
        (it,) = known.values()
        assert it.panel is not None
        means = it.panel.indications[chapter.indication].conditions
        danger = any(it.pack.conditions[one].danger for one in means)
        assert (chapter.stop is not None) == danger
        if danger:
            assert chapter.takes == ()
            assert chapter.stop is not None
            assert chapter.stop.startswith("Tripping: Leave the breaker off.")
    said = [words.partition(":")[0] for words in stop_words(it.pack)]
    assert said[-5:] == ["Shock", "Burning", "Smoke", "Tripping", "Water at plug"]
    assert ("Gas" in said) == (it.pack.family == "dryer")


def test_only_steps_for_customers_are_filmed(known: dict[str, Knowledge]) -> None:
    """Tests by fields: each take is a customer's step of this construction, cautions kept."""
    (it,) = known.values()
    assert it.panel is not None
    built = it.panel.plate.variants
    for chapter in chapters_of(known):
        for take in chapter.takes:
            assert take.say
            (step, *_) = [one for one in steps_named(known, take.title) if for_customers(one)]
            assert step.behind is None
            assert len(take.cautions) == len(step.cautions)
            assert all(built.get(axis) in {None, *values} for axis, values in step.needs.items())


def test_a_step_that_breaks_a_rule_is_never_filmed() -> None:
    """Tests that a remedy with the plug in near water is left out, though it names customers."""
    known = knowledge_of_model("brackwater-wren")
    pack = known.pack
    step = pack.remedies["clear-strainer"]
    assert for_customers(step)
    assert step.customer_step is not None
    wet = msgspec.structs.replace(
        step, customer_step=msgspec.structs.replace(step.customer_step, plug="in")
    )
    assert not for_customers(wet)
    worse = msgspec.structs.replace(pack, remedies={**pack.remedies, "clear-strainer": wet})
    filmed = chapters_of({"wren": Knowledge(worse, known.model, known.panel)})
    assert step.title not in {take.title for one in filmed for take in one.takes}
    assert step.title in {take.title for one in chapters_of({"wren": known}) for take in one.takes}


def test_the_likeliest_and_quickest_comes_first() -> None:
    """Tests by hand on the dryer: a full tank is emptied before anything else is tried."""
    (tank,) = [
        one
        for one in chapters_of({"lark": knowledge_of_model("cindle-lark")})
        if one.indication == "c-held-a-three"
    ]
    looks, does = tank.takes[:2]
    assert (looks.kind, looks.title) == ("look", "Water tank")
    assert (does.kind, does.title) == ("do", "empty the tank")
    assert tank.hold_s == pytest.approx(2 * (3 * 0.8 + 3))


def test_cautions_stand_before_the_words(known: dict[str, Knowledge]) -> None:
    """Tests the order on the page and in the words to read out, for every step."""
    chapters = chapters_of(known)
    lesson = Lesson("A lesson", stop_words(next(iter(known.values())).pack), chapters, "mp4")
    words, page = words_of(lesson), page_of(lesson)
    assert words.count(LAST) == len(chapters)
    assert "<script" not in page
    at = 0
    for chapter in chapters:
        for take in chapter.takes:
            said = " ".join(take.say.split())
            for _, do in take.cautions:
                assert words.index(do.strip()[1:20], at) < words.index(said, at)
            at = words.index(said, at)
    for number in range(1, len(chapters) + 1):
        assert lesson.name(number, "mp4") in page


def test_words_of_a_file_stay_words() -> None:
    """Tests that a title with marks is escaped on the page."""
    chapter = Chapter("m", "i", "<b>&", "x<y", "no lamp lit", 0.1, 2.0, "a<b", ())
    page = page_of(Lesson("<i>", ["<u>"], [chapter], "gif"))
    for raw in ("<b>&<", "x<y", "a<b", "<u>", "<h1><i>"):
        assert raw not in page


def test_a_family_without_models_is_refused() -> None:
    """Tests that nothing to film is said, not written."""
    with pytest.raises(ModelError, match="teach one first"):
        chapters_of({"x": knowledge_of_family("dryer")})


def test_a_folder_to_film_by(tmp_path: Path) -> None:
    """Tests the command: page, words, a clip and a still for each chapter; not over other files."""
    out = tmp_path / "lesson"
    words = ["panel", "chapters", "dryer", "--out", str(out), "--width", "120", "--gif"]
    made = CliRunner().invoke(main, words)
    assert made.exit_code == 0, made.output
    assert "8 chapters" in made.output
    found = sorted(path.suffix for path in out.iterdir())
    assert found == [".gif"] * 8 + [".html"] + [".png"] * 8 + [".txt"]
    page = (out / "chapters.html").read_text("utf-8")
    assert all(path.name in page for path in out.glob("*.gif"))
    again = CliRunner().invoke(main, words)
    assert again.exit_code == 2
    assert "not empty; name a new one" in again.output
