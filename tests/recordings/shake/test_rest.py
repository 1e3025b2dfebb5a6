"""A swing counts only between two rests: arms and coasting baskets are refused, tubs are not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from made_shakes import MadeLog, Phone, Tub, coasted, cut, handled, pushed, pushes
from tubside.recordings.shake.answering import Answer, read_shake
from tubside.recordings.shake.log_file import parse_log

PHONE = Phone(snr_db=25.0)
NONE = ["no ring-down here"]


def read(log: MadeLog) -> Answer:
    """Read a made log through its file."""
    return read_shake(parse_log(log.csv()))


def exercise(seed: int) -> MadeLog:
    """An arm that swings out and is drawn back, over and over: each time dies away for itself."""
    rng = np.random.default_rng(seed)
    log = pushed(rng, Tub(2.5, 0.15), PHONE)
    since = (log.times_s + rng.uniform(0.0, 0.8)) % 0.8
    swing = np.exp(-2.4 * since) * np.cos(15.7 * since)
    way = rng.normal(0.0, 4.0, 3)
    noise = rng.normal(0.0, 0.1, (len(since), 3))
    return replace(log, axes=np.array([0.0, 0.0, 9.8]) + swing[:, None] * way + noise)


@pytest.mark.parametrize("seed", range(3))
def test_what_swings_again_and_again_is_no_ring_down(seed: int) -> None:
    """Tests that a swing that dies away is refused where the same comes again at once."""
    assert read(exercise(seed)).flags == NONE


def test_a_coasting_basket_is_no_ring_down() -> None:
    """Tests that shaking through resonance on the way down is not taken for a push."""
    tub = Tub(3.9, 0.062, runs_up_s=17.8, top_hz=12.0)
    assert read(coasted(np.random.default_rng(5), tub, PHONE)).flags == NONE


def test_two_pushes_are_both_told() -> None:
    """Tests that two pushes, each let die away, are joined and the count is right."""
    log = pushes(np.random.default_rng(2), Tub(3.0, 0.12), PHONE, again_s=3.0)
    told = read(log)
    assert told.pushes == 2
    assert told.bounces == round(log.bounces)


def test_a_push_cut_short_by_another_leaves_the_other() -> None:
    """Tests that a swing held up by the next press is passed over, and the next one told."""
    log = pushes(np.random.default_rng(4), Tub(2.0, 0.05), PHONE, again_s=1.2)
    told = read(log)
    assert told.pushes == 1
    assert told.damping_ratio == pytest.approx(0.05, rel=0.1)


def test_handling_before_and_after_does_not_hide_a_push() -> None:
    """Tests a phone that is laid down before the push and picked up after it."""
    rng = np.random.default_rng(3)
    log = handled(rng, pushed(rng, Tub(3.2, 0.1), PHONE))
    told = read(log)
    assert told.bounces == round(log.bounces)
    assert told.pushes == 1


def test_a_log_that_begins_with_the_swing_is_read() -> None:
    """Tests that nothing stands before the swing and a long rest after it is enough."""
    log = pushed(np.random.default_rng(7), Tub(3.2, 0.1), PHONE)
    told = read(cut(log, log.let_go_s - 0.05))
    assert told.bounces == round(log.bounces)


def test_a_phone_turned_by_the_push_is_no_ring_down() -> None:
    """Tests that a swing is refused where the phone lies 25 degrees from how it lay before."""
    log = pushed(np.random.default_rng(7), Tub(3.2, 0.1), PHONE)
    assert read(log).flags == []
    turn = np.interp(log.times_s, [log.let_go_s - 0.3, log.let_go_s], [0.0, 1.0])
    turned = log.axes + turn[:, None] * np.array([3.0, 3.0, 0.0])
    assert read(replace(log, axes=turned)).flags == NONE


def test_few_samples_a_second_are_told() -> None:
    """Tests that 15 samples a second are flagged, and no swing above their reach is told."""
    slow = read(pushed(np.random.default_rng(3), Tub(1.5, 0.1), replace(PHONE, rate_hz=15.0)))
    assert "few samples a second" in slow.flags
    fast = read(pushed(np.random.default_rng(3), Tub(11.7, 0.02), replace(PHONE, rate_hz=15.0)))
    assert fast.frequency_hz is None or fast.frequency_hz <= 6.1
    assert "few samples a second" in fast.flags
