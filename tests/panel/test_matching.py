"""What a person saw is soft evidence: rows sum to one, and seeing well is best."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from itertools import product
from math import fsum

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tubside.errors import UnknownNameError
from tubside.panel.lights import FLASHING, OFF, SOUNDS, STEADY, Sound, blinks
from tubside.panel.matching import Seen, condition_likelihoods, likelihoods
from tubside.panel.misreading import RATES, MisreadRates, Observer, lamp_row, sayable, sound_row
from tubside.panel.schema import Indication, Panel

OBSERVERS: tuple[Observer, ...] = ("customer", "technician")


def sayings(panel: Panel, lamps: list[str], *, sound: bool) -> Iterator[Seen]:
    """Yield everything that can be told of ``lamps`` and, if wanted, of the sound."""
    words = sayable(counts=panel.counts)
    sounds: tuple[Sound | None, ...] = SOUNDS if sound else (None,)
    for told in product(words, repeat=len(lamps)):
        for heard in sounds:
            yield Seen(dict(zip(lamps, told, strict=True)), heard)


def shown(panel: Panel, indication: str) -> Seen:
    """Return what a person tells who misreads nothing."""
    return Seen(panel.lights(indication), panel.indications[indication].sound)


@pytest.mark.parametrize("observer", OBSERVERS)
@pytest.mark.parametrize("sound", [True, False])
def test_rows_sum_to_one(panel: Panel, observer: Observer, *, sound: bool) -> None:
    """Tests by enumeration that each indication's row sums to one and has no nought.

    Where lamps count, two of them are told: four could be told in 38,416 ways.
    """
    parts: dict[str, list[float]] = {name: [] for name in panel.indications}
    for seen in sayings(panel, list(panel.lamps)[: 2 if panel.counts else None], sound=sound):
        for name, value in likelihoods(panel, seen, observer).items():
            assert value > 0
            parts[name].append(value)
    totals = [fsum(values) for values in parts.values()]
    assert totals == pytest.approx([1.0] * len(totals), abs=1e-12)


RATE = st.floats(0.001, 0.2)
SLIPS = st.builds(MisreadRates, *[RATE] * 8)
LIGHT = st.sampled_from(["off", "steady", "flashing", "2 blinks", "3 blinks", "9 blinks"])
SHOWN = st.tuples(LIGHT, LIGHT, st.sampled_from(SOUNDS))


@settings(max_examples=25, deadline=None)
@given(slips=SLIPS, messages=st.lists(SHOWN, min_size=1, max_size=4, unique=True))
def test_rows_of_any_panel_sum_to_one(
    small: Panel, slips: MisreadRates, messages: list[tuple[str, str, Sound]]
) -> None:
    """Tests that rows sum to one whatever the rates and the messages, also for conditions."""
    indications = {
        f"i{n}": Indication(
            conditions=["no_water"], lamps={"a": a, "b": b}, sound=sound, note="", source="own"
        )
        for n, (a, b, sound) in enumerate(messages)
    }
    panel = msgspec.structs.replace(small, indications=indications)
    rates: dict[Observer, MisreadRates] = {"customer": slips}
    for lamps, sound in ((["a"], True), ([], True), (["a", "b"], False)):
        rows = [
            [
                *likelihoods(panel, seen, "customer", rates).values(),
                *condition_likelihoods(
                    panel, seen, "customer", ["no_water", "leak"], rates
                ).values(),
            ]
            for seen in sayings(panel, lamps, sound=sound)
        ]
        sums = [sum(column) for column in zip(*rows, strict=True)]
        assert sums == pytest.approx([1.0] * len(sums), abs=1e-9)
        assert min(min(row) for row in rows) > 0


@pytest.mark.parametrize("observer", OBSERVERS)
def test_what_is_seen_well_is_most_likely(panel: Panel, observer: Observer) -> None:
    """Tests that each indication, seen without a slip, is likelier than every other."""
    for name in panel.indications:
        told = likelihoods(panel, shown(panel, name), observer)
        best = told.pop(name)
        assert best > 3 * max(told.values())


def test_rows_put_slips_in_order() -> None:
    """Tests that near slips are commoner than far ones, for both observers."""
    for rates in RATES.values():
        words = sayable(counts=True)
        three = dict(zip(words, lamp_row(blinks(3), rates, counts=True), strict=True))
        assert three[blinks(3)] > three[blinks(2)] == three[blinks(4)] > three[blinks(5)]
        assert three[blinks(5)] > three[blinks(6)]
        steady = dict(zip(words, lamp_row(STEADY, rates, counts=False), strict=False))
        assert steady[STEADY] > steady[FLASHING] > steady[OFF]
        long = lamp_row(blinks(9), rates, counts=True)[words.index(blinks(9))]
        assert long < three[blinks(3)]
        heard = dict(zip(SOUNDS, sound_row("pulses", rates), strict=True))
        assert heard["pulses"] > heard["notes"] == heard["steady tone"]


def test_a_technician_reads_better() -> None:
    """Tests that every rate of the technician is below the customer's."""
    technician, customer = asdict(RATES["technician"]), asdict(RATES["customer"])
    assert all(technician[name] < customer[name] for name in customer)


def test_nothing_told_is_no_evidence(panel: Panel, conditions: list[str]) -> None:
    """Tests that with no lamp told and no sound every condition keeps likelihood one."""
    told = condition_likelihoods(panel, Seen(), "customer", conditions)
    assert set(told) == set(conditions)
    assert list(told.values()) == pytest.approx([1.0] * len(conditions))


def test_a_lamp_not_told_is_summed_out(small: Panel) -> None:
    """Tests that leaving a lamp out equals the sum over all that could be told of it."""
    part = likelihoods(small, Seen({"a": FLASHING}), "customer")
    whole = dict.fromkeys(part, 0.0)
    for word in sayable(counts=True):
        for name, value in likelihoods(small, Seen({"a": FLASHING, "b": word}), "customer").items():
            whole[name] += value
    assert whole == pytest.approx(part)


def test_a_condition_is_the_mean_of_its_indications(small: Panel) -> None:
    """Tests the mean over two indications, and two conditions sharing one."""
    seen = Seen({"a": blinks(3)}, "pulses")
    by_name = likelihoods(small, seen, "technician")
    told = condition_likelihoods(small, seen, "technician", ["wont_drain", "no_water", "overflow"])
    assert told["wont_drain"] == pytest.approx((by_name["drain"] + by_name["drain-again"]) / 2)
    assert told["no_water"] == told["overflow"] == pytest.approx(by_name["fill"])


def test_what_the_panel_cannot_show_is_blank(tern: Panel) -> None:
    """Tests that a lit lamp leaves a silent condition only the chance of a wholly wrong tale."""
    lit = condition_likelihoods(tern, shown(tern, "four"), "customer", ["no_water", "noisy"])
    wrong = RATES["customer"].another_message
    assert wrong / 50 < lit["noisy"] < wrong
    assert lit["no_water"] > 100 * lit["noisy"]
    dark = condition_likelihoods(tern, Seen({"pause": OFF}, "none"), "customer", ["noisy", "suds"])
    assert dark["noisy"] > 10 * dark["suds"]


def test_one_clear_message_never_proves(tern: Panel) -> None:
    """Tests that even a technician's clear sight leaves every other message possible."""
    told = likelihoods(tern, shown(tern, "six"), "technician")
    assert min(told.values()) > RATES["technician"].another_message / 50


def test_strangers_are_refused(wren: Panel) -> None:
    """Tests that a lamp not there and a count on a panel without counts are refused."""
    with pytest.raises(UnknownNameError, match="its lamps are 1, 2, 3"):
        likelihoods(wren, Seen({"7": STEADY}), "customer")
    with pytest.raises(UnknownNameError, match="cannot show 3 blinks; say flashing"):
        likelihoods(wren, Seen({"1": blinks(3)}), "customer")


def test_a_meaning_in_doubt_speaks_less(small: Panel, conditions: list[str]) -> None:
    """Tests that a doubted meaning still leads, by less, and that a sure one is as before."""
    doubted = dict(small.indications)
    doubted["drain"] = msgspec.structs.replace(doubted["drain"], sure="unsure")
    panel = msgspec.structs.replace(small, indications=doubted)
    seen = Seen({"a": blinks(3), "b": OFF}, "pulses")
    sure = condition_likelihoods(small, seen, "customer", conditions)
    unsure = condition_likelihoods(panel, seen, "customer", conditions)
    assert max(unsure, key=lambda name: unsure[name]) == "wont_drain"
    assert unsure["wont_drain"] < sure["wont_drain"]
    assert unsure["noisy"] > sure["noisy"]


def test_doubted_rows_sum_to_one(small: Panel, conditions: list[str]) -> None:
    """Tests that over all that can be said each condition's chances still sum to one."""
    changed = {
        name: msgspec.structs.replace(shown, sure="likely")
        for name, shown in small.indications.items()
    }
    panel = msgspec.structs.replace(small, indications=changed)
    total = dict.fromkeys(conditions, 0.0)
    for a, b, sound in product(sayable(counts=True), sayable(counts=True), SOUNDS):
        row = condition_likelihoods(panel, Seen({"a": a, "b": b}, sound), "customer", conditions)
        for name, chance in row.items():
            total[name] += chance
    assert total == pytest.approx(dict.fromkeys(conditions, 1.0))
