"""What a customer may do alone: never a step that is not safe, by every way through a plan."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tubside.errors import UnknownNameError
from tubside.pack.check_customer import RULES, whole_step
from tubside.service.customer_place import for_plan
from tubside.service.customer_plan import ENDS, CustomerPlan
from tubside.service.customer_steps import customer_plan
from tubside.service.library import Library

SOME = (
    ("top_load", "aldermoor-tern", "dark"),
    ("front_load", "brackwater-wren", "three-six"),
    ("dryer", None, "no_heat"),
    ("dishwasher", None, "wont_drain"),
)


@pytest.fixture(scope="module")
def library() -> Library:
    """The shipped knowledge."""
    return Library()


@pytest.fixture(scope="module", params=SOME, ids=lambda one: one[2])
def plan(request: pytest.FixtureRequest, library: Library) -> CustomerPlan:
    """A plan of each family."""
    return customer_plan(library, *request.param)


def unsafe(library: Library, plan: CustomerPlan) -> list[str]:
    """The ways on which a step comes that the pack's fields do not call safe, or after danger."""
    pack = library.family(plan.family).pack
    wrong = []
    for walk in plan.walks():
        for key, outcome in walk[:-1]:
            step = plan.step(key)
            entry = (pack.checks if step.kind == "check" else pack.remedies)[step.name]
            fields = entry.customer_step
            faults = list(whole_step(entry))
            faults += [one for rule in RULES if fields for one in rule(entry, fields)]
            if "customer" not in entry.who or fields is None or faults or fields != step.fields:
                wrong.append(f"{walk}: {step.name} {faults}")
            danger = next(one.danger for one in step.answers if one.outcome == outcome)
            if danger and (walk[-1] != ("", "stop") or (key, outcome) != walk[-2]):
                wrong.append(f"{walk}: {step.name} tells of {danger} and is not the last")
    return wrong


def test_every_way_is_safe(library: Library, plan: CustomerPlan) -> None:
    """Tests that no way reaches an unsafe step, that danger ends it, and that all end."""
    walks = list(plan.walks())
    assert walks
    assert all(walk[-1][1] in ENDS for walk in walks)
    assert unsafe(library, plan) == []


@pytest.mark.soak
def test_every_way_of_every_plan_is_safe(library: Library) -> None:
    """Tests the same for every indication of every model and every condition of every family."""
    for family in library.families():
        for told in library.family(family).pack.conditions:
            assert unsafe(library, customer_plan(library, family, None, told)) == []
    for model in library.models():
        known = library.model(model)
        for told in known.panel.indications if known.panel else ():
            assert unsafe(library, customer_plan(library, known.pack.family, model, told)) == []


def test_an_unsafe_step_would_be_found(library: Library) -> None:
    """Tests the walk itself: a step of the technician's planted in a plan is found."""
    plan = customer_plan(library, "dryer", None, "no_heat")
    pack = library.family("dryer").pack
    live = next(name for name, one in pack.checks.items() if one.behind is not None)
    planted = replace(plan.steps[0], kind="check", name=live)
    assert unsafe(library, replace(plan, steps=(planted, *plan.steps[1:])))


def test_danger_has_no_steps(library: Library) -> None:
    """Tests that a trouble that is a danger ends at once, and is asked about in every plan."""
    plan = customer_plan(library, "dryer", None, "gas_smell")
    assert (plan.first, plan.steps, plan.stop) == ("stop", (), "gas")
    assert next(one.danger for one in plan.dangers) == "gas"
    assert "gas" not in [one.danger for one in customer_plan(*_trip(library)).dangers]


def _trip(library: Library) -> tuple[Library, str, None, str]:
    return library, "top_load", None, "tripping"


def test_what_each_plan_holds(plan: CustomerPlan) -> None:
    """Tests that each step has its words and a way to say "not sure" or "not done"."""
    assert plan.steps
    assert 0.0 < plan.cleared < 1.0
    for step in plan.steps:
        assert step.say
        left = {"not sure", "not done"} & {answer.outcome for answer in step.answers}
        assert left, step.name
        assert all(answer.to in ENDS or plan.step(answer.to) for answer in step.answers)


def test_the_tap_comes_first(library: Library) -> None:
    """Tests an order that anybody can judge: no water, so the tap is looked after first."""
    plan = customer_plan(library, "front_load", "brackwater-wren", "three-six")
    assert plan.steps[0].name == "open-taps"


def test_no_retry_of_danger(library: Library) -> None:
    """Tests that no check that runs the machine to see a danger, or reads a number, is taken."""
    pack = library.family("front_load").pack
    ours = [check for check in pack.checks.values() if for_plan(pack, check)]
    assert ours
    assert all(check.reading is None for check in ours)
    runs = [check for check in ours if check.customer_step and check.customer_step.runs_machine]
    assert all(not pack.findings[check.finding].danger for check in runs if check.finding)


def test_a_strange_trouble_is_named(library: Library) -> None:
    """Tests that a trouble that is none is told with its near ones."""
    with pytest.raises(UnknownNameError, match="no trouble 'no_watr'"):
        customer_plan(library, "front_load", "brackwater-wren", "no_watr")
