"""What a change of a pack does to the first steps of typical calls."""

from __future__ import annotations

from pathlib import Path

import pytest

from tubside.pack.compiling import compile_pack
from tubside.pack.fault_model import FaultModel
from tubside.pack.home import packs_folder
from tubside.pack.new_family import begin_family
from tubside.pack.reading import read_pack
from tubside.pack.schema import Pack
from tubside.service.layer_effect import STOP, TypicalCall, effect, outset, typical_calls

Both = tuple[Pack, FaultModel]


def built(folder: Path, *others: tuple[str, str]) -> Both:
    """Return a small family, compiled, with some of its texts exchanged first."""
    made = begin_family("small", folder)
    file = made / "drive.yaml"
    text = file.read_text(encoding="utf-8")
    for old, new in others:
        assert old in text
        text = text.replace(old, new)
    file.write_text(text, encoding="utf-8")
    source = read_pack(made)
    return source.pack, compile_pack(source.pack, source.digest)


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Both:
    """Return the small family as it begins."""
    return built(tmp_path_factory.mktemp("plain"))


@pytest.fixture(scope="module")
def other(tmp_path_factory: pytest.TempPathFactory) -> Both:
    """Return the same family with nearly all calls about the motor."""
    weights = (("weight: 360", "weight: 30"), ("weight: 400", "weight: 30"))
    return built(tmp_path_factory.mktemp("other"), *weights, ("weight: 200", "weight: 900"))


def test_typical_calls_are_all_calls_of_a_small_family(plain: Both) -> None:
    """Tests that the shares of every way to begin add up to one, the commonest in front."""
    calls = typical_calls(plain[1])
    assert len(calls) == 9  # three conditions, told in three words
    assert sum(call.share for call in calls) == pytest.approx(1.0, abs=1e-6)
    assert [c.share for c in calls] == sorted((c.share for c in calls), reverse=True)
    assert calls[0].often == "every-time"


def test_the_forty_commonest_calls_of_a_shipped_family() -> None:
    """Tests that a family with many ways to begin is told by forty, the commonest in front."""
    source = read_pack(packs_folder() / "top_load")
    calls = typical_calls(compile_pack(source.pack, source.digest))
    assert len(calls) == len(set(calls)) == 40
    assert [c.share for c in calls] == sorted((c.share for c in calls), reverse=True)
    assert 0.0 < sum(c.share for c in calls) < 1.0


def test_a_pack_beside_itself_changes_nothing(plain: Both) -> None:
    """Tests that no first step and no cost is another."""
    told = effect(plain, plain, typical_calls(plain[1]))
    assert told.changed == ()
    assert told.cost_before == told.cost_after > 0


def test_other_weights_change_steps_and_cost(plain: Both, other: Both) -> None:
    """Tests that where most calls are a weak motor, first steps differ and calls cost more."""
    told = effect(plain, other, typical_calls(plain[1]))
    assert 1 <= len(told.changed) <= told.calls == 9
    assert all(one.before.step != one.after.step for one in told.changed)
    assert told.cost_after > told.cost_before + 10


def test_a_danger_stays_the_first_step(plain: Both) -> None:
    """Tests that a call about burning begins with stopping, whatever the numbers say."""
    assert outset(*plain, TypicalCall("burning_smell", "once", 0.1)).title == STOP
