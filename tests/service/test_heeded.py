"""Tests of the cautions acknowledged: each by its words and its step, by whom, once."""

from __future__ import annotations

from pathlib import Path

from asking import NOON
from tubside.documents.safety_paper import safety_sheet
from tubside.safety.profiles import load_profile
from tubside.safety.which_tests import TITLES, beware_of, plan_for
from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.heeded import LIVE_TEST, heeded
from tubside.service.job_report import job_report
from tubside.service.jobs import new_job, record, take_back
from tubside.service.library import Library
from tubside.service.records import CautionRead, Machine
from tubside.service.safety import appliance_of, safety_of
from tubside.service.safety_record import record_of
from tubside.service.safety_records import ApplianceTold
from tubside.service.safety_settings import choose_country
from tubside.service.viewing import view_of
from two_logins import fresh


def test_they_stand_on_record_and_report(tmp_path: Path) -> None:
    """Tests words, step and name on each paper, the last time counting, one taken back gone."""
    store, library = open_data(tmp_path, lambda: NOON), Library()
    author = Author("server", lambda: NOON, fresh("heeded"))
    job = new_job(store, author, [Machine(model="aldermoor-tern")])
    pack = library.model("aldermoor-tern").pack
    step, check = next((name, c) for name, c in pack.checks.items() if c.cautions)
    first = check.cautions[0]
    for by in ("ned", "ida"):
        record(store, job, author, CautionRead(caution=first, step=step, by=by))
    record(store, job, author, CautionRead(caution=LIVE_TEST, step="run"))
    wrong = record(store, job, author, CautionRead(caution=LIVE_TEST, step="touch-current"))
    take_back(store, job, author, wrong)
    choose_country(store, "NZ")
    view = view_of(store, library, job, advised=False)
    told = heeded(view)
    assert [(one.step, one.by) for one in told] == [(check.title, "ida"), (TITLES["run"], "")]
    assert pack.cautions[first].harm in told[0].caution
    paper = record_of(store, view, safety_of(store, view), NOON)
    assert paper.cautions == tuple(one.told() for one in told)
    assert "Acknowledged by ida." in paper.cautions[0]
    assert "Cautions acknowledged" in {
        getattr(block, "head", "") for block in safety_sheet(paper, NOON.date()).blocks
    }
    report = job_report(store, view, NOON.date())
    assert report.heeded == tuple(one.caution for one in told)
    store.close()


def test_every_test_has_its_title_and_what_can_hurt() -> None:
    """Tests that the words without a country agree with those of its plan."""
    machine = appliance_of(
        ApplianceTold(protection="I", heater_kw=2, cord_m=1.5, cord_mm2=1.0, rcd=True)
    )
    assert machine is not None
    for country in ("NZ", "DE", "GB", "US"):
        for item in plan_for(load_profile(country).profile, machine, ["shock-or-tripping"]):
            assert TITLES[item.id] == item.title
            assert beware_of(item.id)[:40] == item.beware[:40]
