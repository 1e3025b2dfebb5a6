"""What every dryer repairer knows, held against the dryer pack's numbers.

Common practice, no source, unless a test says otherwise: each fact is stated here as a
relation, first of the pack as read, then of the belief and the steps computed from it.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tubside.pack.check import check_pack
from tubside.pack.reading import PackSource, read_pack
from tubside.pack.schema import Pack
from tubside.service.advise import advise
from tubside.service.danger import SAY
from tubside.service.job_file import parse_job
from tubside.service.knowledge import Knowledge, knowledge_of
from tubside.service.telling import as_data

PACKS = Path(__file__).parents[2] / "packs"
SETS = 1500
AIRFLOW = (
    *("lint-filter-clogged", "vent-hose-crushed", "vent-lint", "outside-flap-stuck"),
    *("bird-nest", "duct-too-long", "textile-in-duct", "blower-wheel", "exchanger-lint"),
    *("hose-off", "room-closed", "filter-damaged", "cabinet-lint"),
)
BLOCKED_VENT = ("vent-hose-crushed", "vent-lint", "outside-flap-stuck", "bird-nest")
GAS = ("gas-igniter", "gas-valve-coils", "gas-off", "gas-leak")
ELECTRIC = "variants: {build: vented-electric}\n"

Told = dict[str, Any]
Tell = Callable[[str], Told]


@pytest.fixture(scope="module")
def source() -> PackSource:
    """The dryer pack with its places."""
    return read_pack(PACKS / "dryer")


@pytest.fixture(scope="module")
def pack(source: PackSource) -> Pack:
    """The dryer pack as shipped."""
    return source.pack


@pytest.fixture(scope="module")
def known() -> Knowledge:
    """The dryer pack compiled."""
    return knowledge_of(parse_job("family: dryer\n").job, PACKS)


@pytest.fixture(scope="module")
def tell(known: Knowledge) -> Tell:
    """Lines of a job file -> the advice as data."""
    return lambda lines: as_data(advise(parse_job(f"family: dryer\n{lines}"), known, SETS))


def chances(told: Told) -> dict[str, float]:
    """Probability of each cause."""
    return {cause["id"]: cause["probability"] for cause in told["causes"]}


def first(told: Told) -> str:
    """Likeliest cause."""
    return str(told["causes"][0]["id"])


def place(told: Told, *steps: str) -> int:
    """Where the first of ``steps`` stands in the ranking, or one past its end."""
    ids = [step["id"] for step in told["steps"]]
    return min((ids.index(step) for step in steps if step in ids), default=len(ids))


def reported(pack: Pack, causes: tuple[str, ...], *conditions: str) -> float:
    """Calls per 1000 that these causes bring in with these complaints."""
    return sum(
        pack.causes[cause].weight * pack.causes[cause].reported_as.get(condition, 0.0)
        for cause in causes
        for condition in conditions
    )


def test_the_pack_checks_clean(source: PackSource) -> None:
    """Tests that the rules of packs find no error and nothing to warn of."""
    report = check_pack(source)
    assert report.errors == ()
    assert report.warnings == ()


def test_calls_sum_to_a_thousand(pack: Pack) -> None:
    """Tests that causes and calls with nothing wrong sum to 1000."""
    total = sum(cause.weight for cause in pack.causes.values())
    assert total + sum(h.weight for h in pack.healthy.values()) == pytest.approx(1000.0, abs=1e-9)


def test_over_half_of_calls_for_bad_drying_are_air(pack: Pack) -> None:
    """Tests that air, or the fuse that it opens, stands behind half of such calls or more.

    A US repairer's page: over half of no-heat calls come back to restricted airflow. No
    heat, too long and too soon are taken together, since people do not tell them apart.
    """
    badly = ("no_heat", "takes_too_long", "stops_early")
    everything = reported(pack, tuple(pack.causes), *badly)
    assert reported(pack, (*AIRFLOW, "thermal-fuse"), *badly) > 0.5 * everything
    assert reported(pack, AIRFLOW, "takes_too_long") > 0.5 * reported(
        pack, tuple(pack.causes), "takes_too_long"
    )


def test_too_long_leads_to_the_air_first(tell: Tell) -> None:
    """Tests that air is believed first and looked at first, by phone and on site."""
    phone = tell(f"reported: [takes_too_long]\n{ELECTRIC}")
    assert first(phone) in AIRFLOW
    assert sum(chances(phone)[cause] for cause in AIRFLOW) > 0.5
    assert phone["steps"][0]["id"] == "lint-filter"
    site = tell(f"reported: [takes_too_long]\nwhere: site\n{ELECTRIC}")
    assert site["steps"][0]["id"] == "outside-air"


def test_no_heat_asks_for_the_air_before_a_fuse(tell: Tell) -> None:
    """Tests that no heat looks at the air before anything behind a cover, or a new fuse."""
    told = tell(f"reported: [no_heat]\nwhere: site\n{ELECTRIC}")
    air = place(told, "outside-air")
    assert air < place(told, "fuse-ohms", "limit-ohms", "element-ohms")
    assert air < place(told, "renew-fuse", "renew-element")


def test_a_blocked_vent_leads_to_the_fuse(pack: Pack, tell: Tell) -> None:
    """Tests that the vent raises the fuse, and no air at the flap raises both together."""
    for cause in (*BLOCKED_VENT, "lint-filter-clogged"):
        assert pack.causes[cause].leads_to["thermal-fuse"] >= 3.0
    fuse = "facts: [{check: fuse-ohms, value: over 20 MΩ, by: technician}"
    alone = chances(tell(f"reported: [no_heat]\nwhere: site\n{ELECTRIC}{fuse}]\n"))
    weak = "{check: outside-air, outcome: weak, by: technician}]\n"
    both = chances(tell(f"reported: [no_heat]\nwhere: site\n{ELECTRIC}{fuse}, {weak}"))
    assert alone["thermal-fuse"] > 0.85
    assert both["thermal-fuse"] > 0.8
    blocked = [sum(told[cause] for cause in BLOCKED_VENT) for told in (alone, both)]
    assert blocked[1] > 1.5 * blocked[0]
    assert blocked[1] > 0.35


def test_strong_air_speaks_for_the_heater(tell: Tell) -> None:
    """Tests that strong cold air on an electric dryer leaves element and fuse."""
    facts = (
        "facts: [{check: outside-air, outcome: strong, by: customer},"
        " {check: warm-after-ten, outcome: cold, by: customer}]\n"
    )
    told = tell(f"reported: [no_heat]\n{ELECTRIC}{facts}")
    assert first(told) == "element-open"
    assert sum(chances(told)[cause] for cause in BLOCKED_VENT) < 0.1


@pytest.mark.parametrize(
    "lines",
    [
        "reported: [gas_smell]\n",
        "danger: [gas]\nreported: [no_heat]\n",
        "context: {gas_smell: yes}\n",
        "danger: [gas, shock, tripping]\nwhere: site\n",
        'reported: [no_heat]\nfacts: [{check: gas-smell-ask, outcome: "yes", by: customer}]\n',
    ],
)
def test_a_smell_of_gas_stops_everything(tell: Tell, lines: str) -> None:
    """Tests that gas leaves leaving the house and the gas fitter, and no question."""
    told = tell(lines)
    assert [step["id"] for step in told["steps"]] == ["make-safe-gas", "refer-gasfitter"]
    assert told["danger"] == [{"id": "gas", "say": SAY["gas"]}]


def test_gas_parts_are_left_to_their_trade(pack: Pack) -> None:
    """Tests that no remedy clears a gas cause or the sealed circuit; their trades do."""
    trades = dict.fromkeys(GAS, "gasfitter") | {"refrigerant-lost": "refrigeration"}
    cleared = {cause for remedy in pack.remedies.values() for cause in remedy.clears}
    stops = {stop.trade for stop in pack.stops.values() if stop.kind == "refer"}
    for cause, trade in trades.items():
        assert cause not in cleared
        assert pack.causes[cause].cleared_by == [trade]
        assert trade in stops


def test_a_customer_cleans_lint_and_opens_nothing(pack: Pack) -> None:
    """Tests that the lint filter is a customer's, plug out, and a cabinet never is."""
    for step in (pack.checks["lint-filter"], pack.remedies["clean-lint-filter"]):
        assert step.customer_step is not None
        assert step.customer_step.plug == "out"
        assert step.cautions[0] == "lint-fire"
    for name, each in (pack.checks | pack.remedies).items():
        if "customer" in each.who:
            assert each.behind is None, name
            assert not set(each.tools) - {"torch", "watch"}, name
        elif each.behind is not None:
            assert each.who == ["technician"]
    assert pack.remedies["clean-cabinet"].who == ["technician"]


def test_no_customer_resets_a_breaker(pack: Pack) -> None:
    """Tests that breakers are looked at only, and that what tripped is not tried again."""
    for name, each in (pack.checks | pack.remedies).items():
        if each.customer_step is not None and "no-second-reset" in each.cautions:
            assert each.customer_step.touches == "nothing", name
            assert not each.customer_step.runs_machine, name
    assert "customer" not in pack.remedies["restore-supply"].who
    assert pack.causes["half-supply"].cleared_by == ["electrician"]


@pytest.mark.parametrize(
    ("complaint", "built", "cause"),
    [
        ("no_tumble", "", "belt-broken"),
        ("noisy", "", "rollers-worn"),
        ("tank_full", "variants: {build: condenser}\n", "tank-full"),
        ("takes_too_long", "variants: {build: heat-pump}\n", "lint-filter-clogged"),
        ("wont_start", "", "door-switch"),
        ("gas_smell", "", "gas-leak"),
    ],
)
def test_likeliest_cause_of_a_complaint(tell: Tell, complaint: str, built: str, cause: str) -> None:
    """Tests the cause that a repairer names first on hearing no more than the complaint."""
    assert first(tell(f"reported: [{complaint}]\n{built}")) == cause


def test_a_drum_without_drag_is_the_belt(tell: Tell) -> None:
    """Tests that a drum that turns without drag settles the belt, and a drag the motor."""
    loose = "facts: [{check: turn-drum, outcome: loose, by: customer}]\n"
    drag = (
        "facts: [{check: turn-drum, outcome: drag, by: customer},"
        " {check: start-listen, outcome: hums, by: customer}]\n"
    )
    assert chances(tell(f"reported: [no_tumble]\n{loose}"))["belt-broken"] > 0.85
    told = chances(tell(f"reported: [no_tumble]\n{drag}"))
    assert told["motor-capacitor"] + told["motor"] > 0.75
    assert told["belt-broken"] < 0.1


def test_half_a_supply_turns_and_stays_cold(tell: Tell) -> None:
    """Tests that one leg missing is found by the meter, and only where there are two."""
    half = "facts: [{check: volts-under-load, outcome: one, by: technician}]\n"
    two = tell(f"reported: [no_heat]\nwhere: site\nvariants: {{supply: two-leg}}\n{half}")
    assert first(two) == "half-supply"
    one = chances(tell("reported: [no_heat]\nvariants: {supply: one-leg}\n"))
    assert one["half-supply"] < 0.01


def test_a_wet_load_is_the_washer(tell: Tell) -> None:
    """Tests that a load that drips sends the repairer to the washer."""
    wet = "facts: [{check: load-wet, outcome: dripping, by: customer}]\n"
    told = tell(f"reported: [takes_too_long]\n{wet}")
    assert first(told) == "wet-from-washer"
    assert place(told, "spin-again") < place(told, "book-visit", "clean-lint-filter")


def test_sensor_programmes_that_stop_too_soon_are_the_bars(tell: Tell) -> None:
    """Tests that what dries by time and not by sensor points to bars before boards."""
    dries = "facts: [{check: timed-run-ask, outcome: dries, by: customer}]\n"
    told = chances(tell(f"reported: [stops_early]\nvariants: {{controls: sensor}}\n{dries}"))
    assert told["sensor-bars-coated"] > told["moisture-board"] > told["control-board"]


def test_burning_smells_are_never_tried_again(tell: Tell) -> None:
    """Tests that after a burning smell customers answer questions and run nothing."""
    told = tell("reported: [burning_smell]\n")
    assert told["steps"][0]["id"] == "make-safe-burning"
    assert place(told, "start-listen", "panel-look", "warm-after-ten") == len(told["steps"])
    assert place(told, "smell-ask", "plug-look") < len(told["steps"])


def test_element_ohms_are_those_of_its_rating(pack: Pack) -> None:
    """Tests the printed resistances: V squared over P, and the trade's 8 to 15 ohm."""
    normal = pack.checks["element-ohms"].normal
    for volts, watts, printed in ((230.0, 2200.0, "24 ohm"), (240.0, 5400.0, "10.7 ohm")):
        assert printed in normal
        assert volts**2 / watts == pytest.approx(float(printed.split()[0]), abs=0.05)
    assert 8.0 < 240.0**2 / 6000.0 < 240.0**2 / 4000.0 < 15.0


ORDINARY = "variants: {build: vented-electric, supply: one-leg}\n"


def measured(**values: str) -> str:
    """Return facts of a technician's numbers, their checks with dashes."""
    lines = [
        f"{{check: {name.replace('_', '-')}, value: {value}, by: technician}}"
        for name, value in values.items()
    ]
    return f"facts: [{', '.join(lines)}]\n"


def test_pressure_behind_the_machine_parts_duct_from_filter(tell: Tell) -> None:
    """Tests that little air at a high pressure is the duct's, at a low one the machine's."""
    call = f"reported: [takes_too_long]\nwhere: site\n{ORDINARY}"
    duct = chances(tell(call + measured(outlet_speed="1.8 m/s", duct_pressure="330 Pa")))
    assert sum(duct[cause] for cause in BLOCKED_VENT) > 0.75
    machine = chances(tell(call + measured(outlet_speed="1.8 m/s", duct_pressure="6 Pa")))
    inside = ("lint-filter-clogged", "textile-in-duct", "blower-wheel")
    assert sum(machine[cause] for cause in inside) > 0.75


def test_ordinary_air_and_no_warmth_are_the_heater(tell: Tell) -> None:
    """Tests that air as it should be and cold leaves element, fuse and limit."""
    call = f"reported: [no_heat]\nwhere: site\n{ORDINARY}"
    told = chances(tell(call + measured(outlet_speed="6.5 m/s", outlet_warmth="21 °C")))
    assert sum(told[c] for c in ("element-open", "thermal-fuse", "high-limit")) > 0.75


def test_a_sound_run_speaks_for_the_washer_and_the_load(tell: Tell) -> None:
    """Tests that a machine that dries a kilogram in half an hour is not to blame."""
    call = f"reported: [takes_too_long]\nwhere: site\n{ORDINARY}"
    before = chances(tell(call))
    after = chances(tell(call + measured(dried_weight="1.05 kg", outlet_speed="6.4 m/s")))
    for cause in ("lint-filter-clogged", "vent-lint", "outside-flap-stuck"):
        assert after[cause] < 0.2 * before[cause]
    heavy = chances(tell(call + measured(dried_weight="1.0 kg", load_weight="13 kg")))
    assert heavy["overloaded"] + heavy["wet-from-washer"] > 0.6
