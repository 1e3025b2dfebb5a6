"""Meanings proposed from closed jobs, accepted by a person, and what they leave as it was."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import msgspec
import numpy as np
import pytest

from stores import START
from tubside.panel.lights import FLASHING, OFF, STEADY, blinks
from tubside.panel.quick_sketch import Front, Look, indication_of, sketch_of
from tubside.panel.sketch import panel_of
from tubside.service import viewing
from tubside.service.accepting import accept
from tubside.service.advise import advise
from tubside.service.authors import Author
from tubside.service.job_file import JobFile
from tubside.service.jobs import job_view, new_job, record_advice
from tubside.service.library import Library
from tubside.service.meanings import condition_shares, proposals, put_off
from tubside.service.model_drafts import Drafts
from tubside.service.panel_records import PanelSketched
from tubside.service.people import PersonData, add_person, erase_person
from tubside.service.records import (
    Body,
    Closing,
    ConditionAsked,
    ConfirmedBy,
    Indication,
    Machine,
    PersonNamed,
    Reported,
)
from tubside.service.replay import latest
from tubside.service.shop_models import ShopModels
from tubside.service.shown_reports import condition_chances
from tubside.store.opening import Store

TODAY = date(2026, 3, 9)
THREE = PanelSketched(layout="row", lamps=["off", "3 blinks"], sound="none")


@pytest.fixture(autouse=True)
def small_beliefs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep few sets: what is tested here does not depend on how many."""
    monkeypatch.setattr(viewing, "advise", lambda source, known: advise(source, known, 60))


@pytest.fixture
def shop(tmp_path: Path) -> ShopModels:
    """A shop that has taught nothing yet."""
    return ShopModels(tmp_path / "models")


def closed(
    store: Store,
    author: Author,
    *more: Body,
    sketch: PanelSketched | None = THREE,
    plate: str = "KESTREL-520",
    cause: str = "pump-object",
    confirmed: ConfirmedBy = "re-run",
) -> str:
    """A job on a machine that nobody has taught, closed."""
    bodies: list[Body] = [
        Machine(family="front_load", plate=plate),
        *([sketch] if sketch is not None else []),
        Reported(conditions=["no_water" if cause == "tap-closed" else "wont_drain"]),
        *more,
    ]
    return new_job(store, author, [*bodies, Closing(causes=[cause], confirmed_by=confirmed)])


def test_three_jobs_propose_and_the_chance_is_the_formula(
    store: Store, author: Author, shop: ShopModels
) -> None:
    """Tests (n + s) / (3 + 1) over three jobs, one spelt otherwise, and how each was confirmed."""
    library = Library(shop=shop.folder)
    closed(store, author)
    assert proposals(store, library) == []
    closed(store, author, plate="KESTREL520", confirmed="seen")
    closed(store, author)
    (found,) = proposals(store, library)
    assert (found.condition, found.agree, len(found.jobs)) == ("wont_drain", 3, 3)
    known = library.family("front_load")
    at = known.model.names.conditions.index("wont_drain")
    share = condition_shares(known)[at]
    each = condition_chances(JobFile(reported=["wont_drain"]), ["pump-object"], known)[at]
    assert each > 0.9
    assert found.prior == pytest.approx(share)
    assert found.chance == pytest.approx((3 * each + share) / 4)
    assert [report.confirmed_by for report in found.jobs] == ["re-run", "seen", "re-run"]


def test_what_is_not_confirmed_does_not_count(
    store: Store, author: Author, shop: ShopModels
) -> None:
    """Tests that jobs not confirmed, with nothing found, or with another name are left out."""
    library = Library(shop=shop.folder)
    closed(store, author)
    closed(store, author, confirmed="not-confirmed")
    closed(store, author, cause="nothing-wrong")
    closed(store, author, plate="OTHER-1")
    assert proposals(store, library) == []
    closed(store, author)
    (found,) = proposals(store, library)
    assert (len(found.jobs), found.left_out) == (2, 2)


def test_looks_are_parted_and_slips_joined(store: Store, author: Author, shop: ShopModels) -> None:
    """Tests two looks with two causes, and a flashing lamp that was not counted."""
    library = Library(shop=shop.folder)
    steady = PanelSketched(layout="row", lamps=["steady", "off"], sound="none")
    uncounted = PanelSketched(layout="row", lamps=["off", "flashing"])
    for sketch in (THREE, THREE, THREE, uncounted):
        closed(store, author, sketch=sketch)
    asked = ConditionAsked(condition="no_water", outcome="yes", by="technician")
    for _ in range(2):
        closed(store, author, asked, sketch=steady, cause="tap-closed")
    ring = PanelSketched(layout="ring", lamps=["off", "3 blinks"])
    closed(store, author, sketch=ring)
    found = proposals(store, library)
    assert [(it.condition, len(it.jobs)) for it in found] == [("wont_drain", 4), ("no_water", 2)]
    assert found[0].look.lights == (OFF, blinks(3))


def test_accepting_makes_a_model_and_changes_no_old_advice(
    store: Store, author: Author, shop: ShopModels
) -> None:
    """Tests the model made, its source, and that earlier jobs say what they said."""
    library, drafts = Library(shop=shop.folder), Drafts(shop.folder / "drafts")
    jobs = [closed(store, author) for _ in range(3)]
    for job in jobs:
        record_advice(store, library, job, author)
    before = [job_view(store, library, job) for job in jobs]
    (found,) = proposals(store, library)
    name = accept(shop, drafts, found, found.sure, TODAY)
    library.forget(name)
    panel = shop.read(name)
    (shown,) = panel.indications.values()
    assert (name, panel.name, shown.conditions) == ("kestrel-520", "KESTREL-520", ["wont_drain"])
    assert shown.sure == found.sure == "likely"
    assert panel.sources[shown.source].text == (
        "Own jobs, 3 of 3 (re-run passed 3), accepted 2026-03-09."
    )
    assert [job_view(store, library, job) for job in jobs] == before
    assert proposals(store, library) == []
    ((_, draft),) = drafts.all()
    assert draft.saved_as == name
    fourth = new_job(
        store,
        author,
        [
            Machine(family="front_load", model=name),
            Indication(lamps={"1": "off", "2": "3 blinks"}),
        ],
    )
    advice = job_view(store, library, fourth).advice
    assert advice is not None
    bare = new_job(store, author, [Machine(family="front_load"), Reported(when="drain")])
    assert job_view(store, library, bare).advice is None
    leading = advice.causes[0].id
    reported = library.family("front_load").pack.causes[leading].reported_as
    assert reported.get("wont_drain", 0) > 0.3


def test_a_second_look_joins_the_model(store: Store, author: Author, shop: ShopModels) -> None:
    """Tests that jobs sketched later add an indication to the model made before."""
    library, drafts = Library(shop=shop.folder), Drafts(shop.folder / "drafts")
    for _ in range(3):
        closed(store, author)
    accept(shop, drafts, proposals(store, library)[0], "likely", TODAY)
    library.forget("kestrel-520")
    steady = PanelSketched(layout="row", lamps=["steady", "off"], sound="pulses")
    for _ in range(2):
        closed(store, author, sketch=steady)
    (found,) = proposals(store, library)
    assert found.subject.model == "kestrel-520"
    accept(shop, drafts, found, "unsure", TODAY)
    library.forget("kestrel-520")
    panel = shop.read("kestrel-520")
    assert len(panel.indications) == 2
    assert "pulses" in panel.sounds
    ((_, draft),) = drafts.all()
    assert len(draft.indications) == 2


def test_an_unsure_meaning_of_a_taught_model_is_settled(
    store: Store, author: Author, shop: ShopModels
) -> None:
    """Tests that a meaning not sure is proposed anew from jobs on the model, a sure one never."""
    library, drafts = Library(shop=shop.folder), Drafts(shop.folder / "drafts")
    sketch = sketch_of(Front("row", ("", "")), "front_load", "Own One")
    unsure, sure = (
        msgspec.structs.replace(indication_of(look, ["suds"]), sure=how)
        for look, how in ((Look((FLASHING, OFF)), "unsure"), (Look((OFF, STEADY)), "sure"))
    )
    shop.keep(panel_of(msgspec.structs.replace(sketch, indications=(unsure, sure))))
    for lamps in ({"1": "flashing", "2": "off"}, {"1": "off", "2": "steady"}):
        for _ in range(2):
            named = Machine(family="front_load", model="own-one")
            closed(store, author, named, Indication(lamps=lamps, sound="none"), sketch=None)
    (found,) = proposals(store, library)
    assert (found.known, found.condition) == ("1-flashing", "wont_drain")
    accept(shop, drafts, found, "likely", TODAY)
    library.forget("own-one")
    shown = shop.read("own-one").indications
    assert shown["1-flashing"].conditions == ["wont_drain"]
    assert shown["2-steady"].conditions == ["suds"]
    assert proposals(store, library) == []


def test_not_now_until_another_job_speaks(store: Store, author: Author, shop: ShopModels) -> None:
    """Tests that what was put off stays away, and comes back with one more job."""
    library = Library(shop=shop.folder)
    for _ in range(2):
        closed(store, author)
    put_off(store, proposals(store, library)[0])
    assert proposals(store, library) == []
    closed(store, author)
    assert len(proposals(store, library)[0].jobs) == 3


def test_a_sketch_moves_no_belief_and_outlives_its_labels(
    store: Store, author: Author, shop: ShopModels
) -> None:
    """Tests that the belief is the same with and without a sketch, and after erasing a person."""
    library = Library(shop=shop.folder)
    add_person(store, "person-0001", PersonData(name="Ada Finch"), START)
    told: list[Body] = [
        Machine(family="front_load", plate="KESTREL"),
        Reported(conditions=["wont_drain"]),
    ]
    plain = job_view(store, library, new_job(store, author, told))
    sketch = msgspec.structs.replace(THREE, labels="labels-0001")
    job = new_job(store, author, [*told, sketch, PersonNamed(ref="person-0001")])
    assert job_view(store, library, job).advice == plain.advice
    erase_person(store, "person-0001", START)
    after = job_view(store, library, job)
    assert after.advice == plain.advice
    assert latest(after.entries, PanelSketched) == sketch


def test_conditions_follow_the_cause_and_what_was_told() -> None:
    """Tests that P(condition | cause) sums to one and that what was asked after moves it."""
    known = Library().family("front_load")
    at = known.model.names.conditions.index("no_water")
    silent = condition_chances(JobFile(), ["tap-closed"], known)
    told = condition_chances(JobFile(reported=["no_water"]), ["tap-closed"], known)
    assert silent.sum() == pytest.approx(1.0)
    assert told[at] > silent[at] > 0.5
    gone = condition_chances(JobFile(reported=["no-such-thing"]), ["tap-closed"], known)
    assert np.allclose(gone, silent)
