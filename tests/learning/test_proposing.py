"""Tests of what is proposed, and of what is held back."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from tubside.errors import HistoryError
from tubside.learning.adopting import adopted
from tubside.learning.consequences import consequences, shares_by_complaint
from tubside.learning.counts import Counts, counted
from tubside.learning.history import MILLION, CheckTold, ClosedJob
from tubside.learning.learned_tables import learned_tables
from tubside.learning.proposal import Part, Proposal, Whose
from tubside.learning.proposing import proposals
from tubside.learning.tables import seen_row, tables_of
from tubside.learning.worth import USUAL
from tubside.pack.check import check_pack
from tubside.pack.reading import PackSource, read_pack
from tubside.trial.shop_jobs import bench_of, closed_jobs
from tubside.trial.shops import draw_truth


@pytest.fixture(scope="module")
def counts(module_pack: PackSource) -> Counts:
    """Return the counts of 400 jobs of a simulated shop."""
    rng = np.random.default_rng(5)
    pack = module_pack.pack
    return counted(closed_jobs(bench_of(pack), draw_truth(pack, rng), 400, rng))


@pytest.fixture(scope="module")
def module_pack() -> PackSource:
    """Return the small pack, read once."""
    return read_pack(Path(__file__).parents[1] / "pack" / "small_pack")


def only(found: Iterable[Proposal], what: str) -> list[Proposal]:
    """Return the proposals of one kind."""
    return [one for one in found if one.what == what]


def one_job(pack: PackSource, **changes: object) -> ClosedJob:
    """Return a job with the pack's first cause, as reported most often."""
    name, cause = next(iter(pack.pack.causes.items()))
    plain = ClosedJob(
        job="j",
        closed=date(2026, 3, 2),
        family=pack.pack.family,
        shop="mill-lane",
        complaint=max(cause.reported_as, key=lambda c: cause.reported_as[c]),
        causes={name: MILLION},
        sure="seen",
    )
    return replace(plain, **changes)  # type: ignore[arg-type]  # fields by name


def test_nothing_counted_nothing_proposed(module_pack: PackSource) -> None:
    """Tests that no counts, and those of another family, propose nothing."""
    assert proposals(Counts({}), module_pack.pack) == ()
    other = counted([one_job(module_pack, family="some-other")])
    assert proposals(other, module_pack.pack) == ()


def test_a_weight_by_hand(module_pack: PackSource) -> None:
    """Tests the weight after ten jobs of one cause: (50 w + 10) / 60 of all calls."""
    found = only(proposals(counted([one_job(module_pack)] * 10), module_pack.pack), "weight")
    assert len(found) == 1
    part, said = found[0].parts[0], tables_of(module_pack.pack).weights[2]
    assert part.learned == pytest.approx(1000 * (USUAL.weights * said + 10) / 60, rel=1e-9)
    assert part.pack == pytest.approx(1000 * said)
    assert [found[0].jobs, found[0].met] == pytest.approx([10, 10])
    assert part.low < part.learned < part.high


def test_all_adopted_are_the_learned_tables(module_pack: PackSource, counts: Counts) -> None:
    """Tests that a layer with every proposal gives the learned tables, but for rounding.

    Weights are written with four digits: each within 5e-4, and their sum too. Rows of
    reports are read with the floor of words once more, 0.002 for each condition.
    """
    found = proposals(counts, module_pack.pack)
    got = tables_of(adopted(module_pack, found).pack)
    wanted = learned_tables(tables_of(module_pack.pack), counts)
    np.testing.assert_allclose(got.weights, wanted.weights, rtol=1e-3)
    np.testing.assert_allclose(got.reported, wanted.reported, atol=0.012)
    for name, looked in wanted.findings.items():
        np.testing.assert_allclose(got.findings[name].rows, looked.rows, atol=2e-3)


def test_adopted_pack_passes_every_rule(module_pack: PackSource, counts: Counts) -> None:
    """Tests that a pack with every proposal in it is a pack without an error."""
    source = adopted(module_pack, proposals(counts, module_pack.pack))
    assert source.digest != module_pack.digest
    assert not check_pack(source).errors


def test_deciding_evidence_does_not_vouch_for_itself(module_pack: PackSource) -> None:
    """Tests that a look that made it sure moves no row, and a cure that did moves no chance."""
    pack = module_pack.pack
    remedy, cause = next((r, c) for r, of in pack.remedies.items() for c in of.clears)
    check = next(c for c, of in pack.checks.items() if of.finding is not None)
    outcome = next(iter(pack.findings[pack.checks[check].finding or ""].outcomes))
    job = one_job(
        module_pack,
        causes={cause: MILLION},
        checks=(CheckTold(check, outcome, "technician"),),
        remedies={remedy: True},
    )
    for sure, rows, cures in (("seen", 0, 1), ("re-run", 1, 0), ("remedy-worked", 1, 0)):
        found = proposals(counted([replace(job, sure=sure)] * 4), pack)  # type: ignore[arg-type]
        assert len(only(found, "outcomes")) == rows
        assert len(only(found, "clears")) == cures


def test_what_rests_on_a_remedy_alone_is_told(module_pack: PackSource) -> None:
    """Tests the share of jobs whose cause only a remedy that happened to work speaks for."""
    jobs = [one_job(module_pack)] * 3 + [one_job(module_pack, sure="remedy-worked")]
    found = only(proposals(counted(jobs), module_pack.pack), "weight")
    assert found[0].share_by_remedy_only == pytest.approx(0.25)


def test_doubt_counts_less(module_pack: PackSource) -> None:
    """Tests that jobs in doubt are worth less than certain ones, and are shared out."""
    sure = proposals(counted([one_job(module_pack)] * 8), module_pack.pack)
    told = proposals(counted([one_job(module_pack, sure="not-confirmed")] * 8), module_pack.pack)
    jobs = {one.id: one.jobs for one in only(told, "weight")}
    first = only(sure, "weight")[0]
    assert jobs[first.id] < 0.9 * first.jobs
    assert sum(one.met for one in only(told, "weight")) == pytest.approx(8, abs=0.5)


def test_doubt_is_shared_out_until_it_rests(module_pack: PackSource) -> None:
    """Tests that weights solve w = (50 m + sure + doubtful P(cause | told, w)) / (50 + jobs).

    What was told is a complaint and a check; the equation is that of EM with pseudo-counts.
    """
    tables = tables_of(module_pack.pack)
    check, (finding, observers) = next(iter(tables.said.items()))
    looked = tables.findings[finding]
    outcome = looked.outcomes[-1]
    doubtful = one_job(
        module_pack, sure="not-confirmed", checks=(CheckTold(check, outcome, "technician"),)
    )
    sure = one_job(module_pack, causes={tables.origins[3]: MILLION})
    found = learned_tables(tables, counted([sure] * 4 + [doubtful] * 7)).weights
    tells = observers["technician"][:, -1]
    likely = np.array([seen_row(looked, name) @ tells for name in tables.origins])
    likely = likely * tables.reported[:, tables.conditions.index(doubtful.complaint)]
    shares = found * likely / (found @ likely)
    wanted = USUAL.weights * tables.weights + 7 * shares
    wanted[3] += 4
    np.testing.assert_allclose(found, wanted / (USUAL.weights + 11), atol=1e-8)


def test_other_shops_are_borrowed_from(module_pack: PackSource) -> None:
    """Tests that other shops' jobs move a shop's weight, but less than its own do."""
    own = [one_job(module_pack)] * 10
    others = [one_job(module_pack, shop=f"other-{n % 4}") for n in range(40)]
    whose = Whose(module_pack.pack.family, "mill-lane")

    def weight(jobs: list[ClosedJob]) -> float:
        return only(proposals(counted(jobs), module_pack.pack, whose), "weight")[0].learned_value

    mine = [replace(job, shop="mill-lane") for job in others]
    assert weight(own) < weight(own + others) < weight(own + mine)


def test_shares_per_complaint(module_pack: PackSource) -> None:
    """Tests shares before and after: as the tables give them, the interval about the latter."""
    found = proposals(counted([one_job(module_pack)] * 14), module_pack.pack)
    told = consequences(module_pack, found)
    complaint = one_job(module_pack).complaint
    moved = next(one for one in told if one.complaint == complaint)
    cause = next(iter(module_pack.pack.causes))
    share = next(one for one in moved.origins if one.origin == cause)
    tables = tables_of(module_pack.pack)
    at = tables.origin(cause), tables.conditions.index(complaint)
    assert share.before == pytest.approx(shares_by_complaint(tables)[at])
    assert share.low <= share.after <= share.high
    assert share.after > share.before + 0.02
    assert consequences(module_pack, found) == told
    assert all(
        abs(one.after - one.before) < 1e-12
        for c in consequences(module_pack, ())
        for one in c.origins
    )


def test_nothing_is_offered_outside_its_interval() -> None:
    """Tests that a number outside its own interval is refused."""
    with pytest.raises(HistoryError, match="lies outside"):
        Proposal(
            id="x",
            what="weight",
            edits=((("causes", "x", "weight"), "9"),),
            parts=(Part("", 5.0, 9.0, 4.0, 8.0),),
            jobs=1.0,
            met=1.0,
            prior_jobs=1.0,
        )
