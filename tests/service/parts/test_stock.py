"""Tests of articles, movements, stock by place and what jobs use."""

from __future__ import annotations

import itertools
from pathlib import Path
from random import Random

import pytest
from alembic.operations import Operations
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import text

from stores import Ticking
from tubside.errors import NotThereError, StockError
from tubside.service.authors import Author, Written
from tubside.service.backups import back_up, restore
from tubside.service.data_folder import database_in, open_data
from tubside.service.jobs import job_view, new_job, record, record_written, take_back
from tubside.service.library import Library
from tubside.service.part_records import PartUsed
from tubside.service.parts.articles import (
    Article,
    Offer,
    keep_article,
    keep_fit,
    keep_offer,
)
from tubside.service.parts.fitting import fit_chance
from tubside.service.parts.moving import Hand, Move, counted, move
from tubside.service.parts.shelf import Shelved, one_part, searched, shelf
from tubside.service.records import Body, Machine, PartsAboard, Reported, Retract, Visit
from tubside.service.visits.settings import TechnicianSetting, keep_technician
from tubside.store import versions
from tubside.store.migrations.versions import first_tables
from tubside.store.naming import address_of
from tubside.store.opening import Store, connect, transaction
from tubside.store.settings import setting

PUMP = Article("DP-1", "Drain pump, long hub", ("front_load/drain-pump",), "5012345678900")


LIBRARY = Library()


def hand(clock: Ticking, numbers: itertools.count[int]) -> Hand:
    """A hand with a reference of its own."""
    return Hand(f"move-{next(numbers):06}", "server", clock())


def held(store: Store, number: str = "DP-1") -> dict[str, int]:
    """Units of a part by place."""
    return one_part(store, number).shelved.held


def test_a_part_moves_through_the_shop(store: Store, clock: Ticking) -> None:
    """Tests ordering, receiving, loading and using, and that movements are numbered in turn."""
    numbers = itertools.count()
    keep_article(store, PUMP, clock())
    for told in (
        Move("DP-1", 3, None, "on-order", "ordered"),
        Move("DP-1", 2, "on-order", "workshop", "received"),
        Move("DP-1", 1, "workshop", "van:ida", "loaded"),
        Move("DP-1", 1, "van:ida", None, "used"),
    ):
        move(store, told, hand(clock, numbers))
    assert held(store) == {"on-order": 1, "workshop": 1}
    rows = one_part(store, "DP-1").moves
    assert [row.number for row in rows] == [4, 3, 2, 1]


def test_never_below_nought_without_a_reason(store: Store, clock: Ticking) -> None:
    """Tests that a place is not taken below nought unless it is said why."""
    numbers = itertools.count()
    keep_article(store, PUMP, clock())
    used = Move("DP-1", 1, "van:ida", None, "used")
    with pytest.raises(StockError, match="say why"):
        move(store, used, hand(clock, numbers))
    assert held(store) == {}
    why = Move("DP-1", 1, "van:ida", None, "used", "not-booked-in")
    move(store, why, hand(clock, numbers))
    assert held(store) == {"van:ida": -1}
    assert shelf(store)[0].below


def test_the_same_movement_counts_once(store: Store, clock: Ticking) -> None:
    """Tests that a form sent twice moves once, and that its reference is not for another."""
    keep_article(store, PUMP, clock())
    by = Hand("move-once-1", "server", clock())
    bought = Move("DP-1", 2, None, "workshop", "received")
    assert move(store, bought, by).number == move(store, bought, by).number
    assert held(store) == {"workshop": 2}
    with pytest.raises(StockError, match="reference"):
        move(store, Move("DP-1", 1, None, "workshop", "received"), by)


def test_counting_sets_right(store: Store, clock: Ticking) -> None:
    """Tests that a count moves the difference, and nothing when it agrees."""
    numbers = itertools.count()
    keep_article(store, PUMP, clock())
    counted(store, "DP-1", "workshop", 4, hand(clock, numbers))
    counted(store, "DP-1", "workshop", 1, hand(clock, numbers))
    assert counted(store, "DP-1", "workshop", 1, hand(clock, numbers)) is None
    assert held(store) == {"workshop": 1}


@pytest.mark.parametrize(
    ("told", "why"),
    [
        (Move("DP-1", 0, None, "workshop", "received"), "from 1"),
        (Move("DP-1", 1, "van:ida", "workshop", "ordered"), "other places"),
        (Move("DP-1", 1, None, "shed", "found"), "no place"),
        (Move("DP-1", 1, None, "workshop", "magic"), "no reason"),  # type: ignore[arg-type]  # wrong
        (Move("DP-1", 1, "van:a", "van:a", "loaded"), "other places"),
    ],
)
def test_what_cannot_move(tmp_path: Path, clock: Ticking, told: Move, why: str) -> None:
    """Tests that impossible movements are refused in words."""
    store = open_data(tmp_path, clock)
    keep_article(store, PUMP, clock())
    with pytest.raises(StockError, match=why):
        move(store, told, Hand("move-wrong", "server", clock()))
    store.close()


def test_articles(store: Store, clock: Ticking) -> None:
    """Tests that numbers are allotted, barcodes are one part's, and mistakes are told."""
    assert keep_article(store, Article("", "Door seal"), clock()) == "P-0001"
    assert keep_article(store, Article("", "Door seal"), clock()) == "P-0002"
    keep_article(store, PUMP, clock())
    with pytest.raises(StockError, match="barcode"):
        keep_article(store, Article("DP-2", "Other pump", (), PUMP.barcode), clock())
    for wrong in (Article("a b", "x"), Article("A", " "), Article("A", "x", ("pump",))):
        with pytest.raises(StockError):
            keep_article(store, wrong, clock())
    with pytest.raises(NotThereError):
        one_part(store, "none")


def test_prices_and_fits(store: Store, clock: Ticking) -> None:
    """Tests that the latest price of each supplier counts, and the latest word on a fit."""
    keep_article(store, PUMP, clock())
    for ref, offer in (
        ("offer-001", Offer("Fenn Parts", 2400, 2.0)),
        ("offer-002", Offer("Ostler", 1900, 9.0, "77-A")),
        ("offer-003", Offer("Fenn Parts", 1800, 2.0)),
    ):
        keep_offer(store, ref, "DP-1", offer, clock())
    told = one_part(store, "DP-1")
    assert [(o.supplier, o.price) for o in told.shelved.offers] == [
        ("Fenn Parts", 1800),
        ("Ostler", 1900),
    ]
    assert len(told.past_offers) == 3
    keep_fit(store, "fit-00001", ("DP-1", "brackwater-wren", "unsure"), clock())
    keep_fit(store, "fit-00002", ("DP-1", "brackwater-wren", "no"), clock())
    fits = one_part(store, "DP-1").fits
    wren = LIBRARY.model("brackwater-wren").panel
    assert wren is not None
    pump = ("DP-1", "drain-pump")
    assert fit_chance(fits, wren, "front_load", pump) == 0.0
    assert 0.5 < fit_chance(fits, None, "front_load", pump) < 0.99


def test_search(store: Store, clock: Ticking) -> None:
    """Tests that words, a kind, and a barcode alone find parts."""
    keep_article(store, PUMP, clock())
    keep_article(store, Article("DS-1", "Door seal", ("front_load/seal",)), clock())

    def found(text: str) -> list[str]:
        parts: list[Shelved] = searched(shelf(store), text)
        return [one.article.number for one in parts]

    assert found("pump drain") == ["DP-1"]
    assert found("5012345678900") == ["DP-1"]
    assert found("front load") == ["DP-1", "DS-1"]
    assert found("") == ["DP-1", "DS-1"]
    assert found("nothing such") == []


def test_stock_follows_a_job(store: Store, clock: Ticking, author: Author) -> None:
    """Tests that a part used leaves the van, and comes back when the fact is taken back."""
    keep_article(store, PUMP, clock())
    move(store, Move("DP-1", 2, None, "van:ida", "found"), Hand("move-0001", "server", clock()))
    job = new_job(store, author, [Machine(family="front_load")])
    fact = record(store, job, author, PartUsed(part="DP-1", place="van:ida"))
    assert held(store) == {"van:ida": 1}
    back = take_back(store, job, author, fact, "wrong-tap")
    assert held(store) == {"van:ida": 2}
    take_back(store, job, author, back, "other")
    assert held(store) == {"van:ida": 1}
    assert {row.job for row in one_part(store, "DP-1").moves} == {None, job}


def test_used_where_nothing_was(store: Store, clock: Ticking, author: Author) -> None:
    """Tests that what was used without stock is booked with its reason, and never lost."""
    keep_article(store, PUMP, clock())
    job = new_job(store, author, [PartUsed(part="DP-1", place="van:ida")])
    assert held(store) == {"van:ida": -1}
    assert one_part(store, "DP-1").moves[0].despite == "told-afterwards"
    record(store, job, author, PartUsed(part="UNKNOWN-1", place="van:ida"))
    assert held(store) == {"van:ida": -1}


def test_any_order_ends_alike(tmp_path: Path, clock: Ticking) -> None:
    """Tests that facts of a phone, late, twice and in any order, move the same stock."""
    store, draw = open_data(tmp_path, clock), Random(7)  # noqa: S311  # orders of a test
    for turn in range(12):
        number = keep_article(store, Article("", "Pump"), clock())
        author = Author("server", clock, itertools.repeat(f"job-{turn:08}").__next__)
        job = new_job(store, author, [Machine(family="front_load")])
        facts = [
            (Written(f"{turn}-fact-{n}", f"phone{turn}", n + 1, clock(), {}, None), body)
            for n, body in enumerate(_used_and_taken_back(number, f"{turn}-fact"))
        ]
        for n in [*draw.sample(range(6), 6), *draw.choices(range(6), k=3)]:
            record_written(store, job, [facts[n]], clock())
        assert held(store, number) == {"van:ida": -3}
    store.close()


def _used_and_taken_back(part: str, fact: str) -> list[Body]:
    """Two uses that stay and one that does not; one of them taken back and back again."""
    used = PartUsed(part=part, place="van:ida", units=2)
    one = PartUsed(part=part, place="van:ida")
    taken = [Retract(fact=f"{fact}-{n}") for n in (0, 2, 3)]
    return [used, one, taken[0], used, taken[1], taken[2]]


@pytest.mark.parametrize("place", ["sqlite"], indirect=True)  # a plan, not a store, is tested
def test_the_job_knows_what_the_van_holds(store: Store, clock: Ticking, author: Author) -> None:
    """Tests that stock on the only van counts for the plan, and the job's own word before it."""
    keep_article(store, PUMP, clock())
    job = new_job(
        store, author, [Machine(family="front_load"), Reported(conditions=["wont_drain"])]
    )

    def said() -> tuple[bool, bool]:
        source = job_view(store, LIBRARY, job).source
        assert source is not None
        return "drain-pump" in source.job.aboard, "drain-pump" in source.job.not_aboard

    assert said() == (False, False)
    move(store, Move("DP-1", 1, None, "van:ida", "found"), Hand("move-0001", "server", clock()))
    assert said() == (True, False)
    move(store, Move("DP-1", 1, "van:ida", None, "lost"), Hand("move-0002", "server", clock()))
    keep_article(store, Article("B-1", "Belt", ("front_load/belt",)), clock())
    move(store, Move("B-1", 1, None, "van:ida", "found"), Hand("move-0003", "server", clock()))
    assert said() == (False, True)
    record(store, job, author, PartsAboard(aboard=["drain-pump"]))
    assert said() == (True, False)


@pytest.mark.parametrize("place", ["sqlite"], indirect=True)  # a plan, not a store, is tested
def test_the_plan_takes_the_van_of_who_goes(store: Store, clock: Ticking, author: Author) -> None:
    """Tests several vans, one that nobody's visit names, and one that is somebody else's."""
    keep_article(store, PUMP, clock())
    job = new_job(
        store, author, [Machine(family="front_load"), Reported(conditions=["wont_drain"])]
    )

    def said(who: str | None) -> tuple[bool, bool]:
        record(store, job, author, Visit(status="booked", technician=who))
        source = job_view(store, LIBRARY, job).source
        assert source is not None
        return "drain-pump" in source.job.aboard, "drain-pump" in source.job.not_aboard

    move(store, Move("DP-1", 1, None, "van:ida", "found"), Hand("move-0001", "server", clock()))
    assert said("ned") == (True, False)  # the shop's one van, whoever drives it
    keep_technician(store, "ida", TechnicianSetting(start="52.1, 0.25"))
    assert said("ned") == (False, False)  # now it is known to be another's
    assert said("ida") == said(None) == (True, False)
    keep_article(store, Article("B-1", "Belt", ("front_load/belt",)), clock())
    move(store, Move("B-1", 1, None, "van:ned", "found"), Hand("move-0002", "server", clock()))
    assert said("ned") == (False, True)
    assert said("ida") == (True, False)
    assert said(None) == (False, False)


def test_backups_hold_the_parts(tmp_path: Path, clock: Ticking) -> None:
    """Tests that a backup brings articles, prices, fits and movements back."""
    here, there = tmp_path / "here", tmp_path / "there"
    store = open_data(here, clock)
    keep_article(store, PUMP, clock())
    keep_offer(store, "offer-001", "DP-1", Offer("Fenn Parts", 2400, 2.0), clock())
    keep_fit(store, "fit-00001", ("DP-1", "brackwater-wren", "sure"), clock())
    move(store, Move("DP-1", 2, None, "van:ida", "found"), Hand("move-0001", "server", clock()))
    before = one_part(store, "DP-1")
    store.close()
    restore(back_up(here, clock).file, there, clock)
    again = open_data(there, clock)
    assert one_part(again, "DP-1") == before
    again.close()


def test_a_shop_from_before_gets_the_tables(tmp_path: Path, clock: Ticking) -> None:
    """Tests that a database of the first version is backed up, and brought up to date."""
    engine = connect(address_of(database_in(tmp_path)))
    with transaction(engine, writes=True) as opened:
        first = Operations(MigrationContext.configure(opened))
        with Operations.context(first.migration_context):
            first_tables.upgrade()
        first.migration_context.stamp(ScriptDirectory(str(versions.MIGRATIONS)), "0001")
        opened.execute(text("INSERT INTO settings (name, value) VALUES ('here', 'yes')"))
    engine.dispose()
    again = open_data(tmp_path, clock)
    assert keep_article(again, PUMP, clock()) == "DP-1"
    with again.reading() as opened:
        assert setting(opened, "here") == "yes"
    assert list((tmp_path / "backups").iterdir())
    again.close()
