"""``tubside practise`` as a learner types."""

from __future__ import annotations

from click.testing import CliRunner

from tubside.cli import main


def typed(*lines: str, options: tuple[str, ...] = ()) -> str:
    """Return all that is printed when these lines are typed."""
    done = CliRunner().invoke(main, ["practise", *options], input="\n".join(lines) + "\n")
    assert done.exit_code == 0, done.output
    return done.output


def test_a_practice_from_call_to_bill() -> None:
    """Tests a short practice: steps are listed, a mistake is told, the bill comes last."""
    said = typed("steps", "polish", "foam", "visit", "facts", "end", options=("--seed", "3"))
    assert said.startswith("A call: ")
    assert "check:foam" in said
    assert "no step 'polish'" in said
    assert said.index("CAUTION") < said.index("  Foam seen:")
    assert "It was: " in said
    for row in ("your way", "advised plan", "had you known it"):
        assert row in said


def test_a_model_by_one_word() -> None:
    """Tests that a model is found by a word of its name."""
    assert "It was: " in typed("end", options=("--model", "Tern", "--level", "2"))
