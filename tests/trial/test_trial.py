"""Policies on the same calls: fair, repeatable, and calibrated where the pack is right."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from made_models import Shape, made_model
from tubside.diagnosis.next_step import Step
from tubside.pack.fault_model import FaultModel
from tubside.pack.prior import main_shares
from tubside.trial.confirming import confirming_check
from tubside.trial.drawing import Part, drawn
from tubside.trial.job import Job, Order, Shop, do
from tubside.trial.known_cause import known_cause
from tubside.trial.measuring import mean, saved
from tubside.trial.policies import ByList, ChanceOverCost
from tubside.trial.running import Result, Trial, run
from tubside.trial.working import stated, take_call, work
from tubside.trial.world import Disturbance, World, as_the_pack_says, disturbed

MODEL = made_model(Shape(causes=6, axis=False, leads=False, seed=5))


def shop(model: FaultModel = MODEL) -> Shop:
    """Return a shop that may ask customers everything."""
    c = len(model.complaint.leak)
    checks = np.ones((c, len(model.checks)), dtype=bool)
    return Shop(model, checks, np.ones((c, len(model.remedies)), dtype=bool), 200)


def job(number: int, world: World | None = None) -> Job:
    """Return a call that was just taken."""
    return take_call(world or as_the_pack_says(MODEL), shop(), 4, number)


@pytest.fixture(scope="module")
def result() -> Result:
    """Return a small trial in the pack's own world."""
    return run(Trial(as_the_pack_says(MODEL), shop(), 40, 2))


def test_every_policy_meets_every_call(result: Result) -> None:
    """Tests that all policies worked all calls, each to an end, at the same known cost."""
    policies = {one.policy for one in result.worked}
    assert policies == {"advised", "list", "plain list", "P/C"}
    for number in range(40):
        same = [one for one in result.worked if one.call == number]
        assert {one.policy for one in same} == policies
        assert len({(one.known_cost, one.known_way) for one in same}) == 1
    assert {one.ended for one in result.worked} <= {"works", "scrap", "return"}


def test_any_executor_gives_the_same_result(result: Result) -> None:
    """Tests that workers change nothing, and that progress ends at the number of calls."""
    heard: list[int] = []
    trial = Trial(as_the_pack_says(MODEL), shop(), 40, 2)
    with ThreadPoolExecutor(3) as pool:
        again = run(trial, pool, heard.append)
    assert again == result
    assert max(heard) == 40
    assert run(replace(trial, seed=3)).worked != result.worked


def test_costs_add_up() -> None:
    """Tests that a job costs its steps: a visit, a look behind its cover, a part fitted."""
    before = job(0)
    there = do(before, Step("visit", 0, 0.0, 0.0, 0.0))
    assert there.cost == MODEL.costs.visit
    assert there.trips == 1
    check = next(n for n, c in enumerate(MODEL.checks) if c.cover == 0)
    looked = do(there, Step("check", check, 0.0, 0.0, 0.0))
    minutes = MODEL.checks[check].minutes + MODEL.cover_minutes[0]
    assert looked.minutes == pytest.approx(minutes)
    assert looked.cost == pytest.approx(there.cost + minutes * MODEL.costs.technician_minute)
    remedy = next(n for n, r in enumerate(MODEL.remedies) if r.parts)
    fitted = do(looked, Step("remedy", remedy, 0.0, 0.0, 0.0))
    part = MODEL.remedies[remedy].parts[0]
    assert fitted.cost >= looked.cost + MODEL.part_price[part]
    assert fitted.trips == (1 if MODEL.part_carried[part] else 2)


def test_an_order_is_paid_in_two_parts() -> None:
    """Tests that ordering costs what a return would lose and the longer wait, fitting the rest."""
    part = next(n for n, carried in enumerate(MODEL.part_carried) if not carried)
    remedy = next(n for n, r in enumerate(MODEL.remedies) if r.parts == (part,))
    before = job(0)
    ordered = do(before, Order("order", 0, 0.0, 0.0, 0.0, parts=(part,)))
    costs, price = MODEL.costs, float(MODEL.part_price[part])
    wait = (costs.part_wait_days - costs.booking_days) * costs.waiting_day
    assert ordered.cost == pytest.approx(costs.restocking_share * price + wait)
    assert not before.situation.aboard[part]
    there = do(ordered, Step("visit", 0, 0.0, 0.0, 0.0))
    fitted = do(there, Step("remedy", remedy, 0.0, 0.0, 0.0))
    paid = fitted.cost - there.cost - (fitted.minutes - there.minutes) * costs.technician_minute
    back = costs.callback if fitted.came_back else 0.0
    assert paid == pytest.approx((1.0 - costs.restocking_share) * price + back)
    assert fitted.trips == 1


def fitted_with(cause: int, remedy: int, number: int) -> Job:
    """Return a job of which one cause was the only one, after one remedy on site."""
    start = do(job(number), Step("visit", 0, 0.0, 0.0, 0.0))
    machine = replace(start.machine, left=np.arange(MODEL.n_causes) == cause)
    return do(replace(start, machine=machine), Step("remedy", remedy, 0.0, 0.0, 0.0))


def test_a_part_that_clears_nothing_was_fitted_in_vain() -> None:
    """Tests that parts are counted as wrong only where the remedy cleared nothing."""
    remedy = next(n for n, r in enumerate(MODEL.remedies) if r.parts)
    clears, parts = MODEL.remedies[remedy].clears[1], MODEL.remedies[remedy].parts
    other = int(np.flatnonzero(clears == 0.0)[0])
    assert fitted_with(other, remedy, 0).wrong_parts == len(parts)
    mine = [fitted_with(int(clears.argmax()), remedy, number) for number in range(40)]
    for one in mine:
        assert one.wrong_parts == (0 if one.machine.sound else len(parts))
    assert 0.5 < np.mean([one.machine.sound for one in mine]) <= 1.0


def test_no_policy_beats_knowing_the_cause(result: Result) -> None:
    """Tests that on average every policy costs more than with the cause known."""
    for row in result.rows:
        assert row.excess.value > -2.0 * row.excess.half


def test_knowing_a_healthy_machine_costs_nothing() -> None:
    """Tests that a call with nothing wrong needs no step when that is known."""
    one = job(0)
    sound = replace(one, machine=replace(one.machine, left=np.zeros(MODEL.n_causes, dtype=bool)))
    known = known_cause(sound)
    assert (known.cost, known.way) == (0.0, "nothing")


def test_the_list_looks_before_a_dear_part() -> None:
    """Tests that a dear part waits while the check that confirms its cause is open."""
    asked = 0
    for number in range(30):
        one = do(job(number), Step("visit", 0, 0.0, 0.0, 0.0))
        plain = ByList("plain list", checks=False).choose(one)
        step = ByList("list").choose(one)
        parts = list(MODEL.remedies[plain.index].parts) if plain.kind == "remedy" else []
        if not parts or MODEL.part_price[parts].sum() <= 20.0:
            assert step == plain
            continue
        causes = np.flatnonzero(MODEL.remedies[plain.index].clears[1])
        open_checks = {confirming_check(one, int(cause)) for cause in causes} - {None}
        if step.kind == "check":
            asked += 1
            assert step.index in open_checks
        else:
            assert step == plain
    assert asked > 0


def test_a_list_ends() -> None:
    """Tests that every list comes to its end and never does the same remedy twice."""
    for policy in (ByList("list"), ByList("plain list", checks=False), ChanceOverCost()):
        for number in range(8):
            one = job(number)
            worked = work(one, policy, number, known_cause(one))
            assert worked.ended
            assert worked.trips >= 1


def test_what_is_stated_is_true_where_the_pack_is_right() -> None:
    """Tests that sets of 90 % hold in 90 % of calls and that chances are neither bold nor shy."""
    world = as_the_pack_says(MODEL)
    beliefs = [stated(job(number, world)) for number in range(600)]
    held = float(np.mean([one.held for one in beliefs]))
    assert held > 0.9 - 3.0 * np.sqrt(0.9 * 0.1 / 600)
    said = np.concatenate([one.probability for one in beliefs])
    true = np.concatenate([one.true for one in beliefs])
    slope = float(np.polyfit(said, true, 1)[0])
    assert 0.85 < slope < 1.15


def test_a_disturbed_world_is_another_but_still_a_world() -> None:
    """Tests that tables stay distributions, weights move by the factor, and seeds decide."""
    by = Disturbance(weights=2.0, tables=30.0, odds=0.5)
    world, again = disturbed(MODEL, by, 7, "x"), disturbed(MODEL, by, 7, "x")
    for finding, same, old in zip(
        world.model.findings, again.model.findings, MODEL.findings, strict=True
    ):
        assert np.allclose(finding.rows.sum(axis=1), 1.0)
        assert np.array_equal(finding.rows, same.rows)
        assert not np.allclose(finding.rows, old.rows)
    moved, _ = main_shares(world.model.prior)
    before, _ = main_shares(MODEL.prior)
    ratio = np.log2(moved / before)
    assert np.ptp(ratio) == pytest.approx(2.0, abs=1e-6)
    assert moved.sum() == pytest.approx(before.sum())
    assert ((world.model.complaint.q >= 0) & (world.model.complaint.q < 1)).all()
    assert np.allclose(world.model.complaint.said.sum(axis=1), 1.0)


def test_an_undisturbed_world_is_the_packs() -> None:
    """Tests that no disturbance at all leaves the model as it is."""
    assert disturbed(MODEL, Disturbance(), 1, "same").model is MODEL


def test_means_and_savings() -> None:
    """Tests a mean with its interval, and a saving against a worked sum."""
    one = mean(np.array([2.0, 4.0, 6.0, 8.0]))
    assert one.value == 5.0
    assert one.half == pytest.approx(1.959964 * np.std([2, 4, 6, 8], ddof=1) / 2.0)
    kept = saved(np.array([5.0, 5.0, 10.0]), np.array([10.0, 20.0, 10.0]))
    assert kept.value == pytest.approx(0.5)
    assert 0.0 < kept.half < 0.5


def test_the_drawing_names_every_policy(result: Result) -> None:
    """Tests that the drawing is XML and says each heading and policy once."""
    svg = drawn([Part("family, world", result.rows)])
    root = ET.fromstring(svg)  # noqa: S314  # our own
    said = [e.text for e in root.iter() if e.tag.endswith("text")]
    assert "family, world" in said
    for row in result.rows:
        assert said.count(row.policy) == 1
