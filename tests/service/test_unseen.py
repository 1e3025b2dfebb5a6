"""The family by two questions, the name of a plate, and a sketch read back."""

from __future__ import annotations

from itertools import product

import pytest

from tubside.errors import FactError
from tubside.pack.home import families
from tubside.panel.lights import OFF, blinks
from tubside.service.authors import Author
from tubside.service.jobs import job_view, new_job, record, take_back
from tubside.service.library import Library
from tubside.service.panel_records import KindTold, PanelSketched
from tubside.service.records import Machine, decoded, encoded
from tubside.service.replay import latest
from tubside.service.unseen import (
    SIGNS,
    families_left,
    front_of,
    look_of,
    plate_code,
    plate_of,
    same_plate,
)
from tubside.store.opening import Store


def test_every_family_has_its_signs_and_is_reached() -> None:
    """Tests that the answers true of a family leave it alone, and "not sure" leaves all."""
    known = families()
    assert set(known) == set(SIGNS)
    for name, (does, opening) in SIGNS.items():
        told = KindTold(does=does, opening=opening)  # type: ignore[arg-type]  # from the table
        assert families_left(told, known) == [name]
    assert families_left(KindTold(does="not-sure"), known) == known
    for does, opening in product(("washes", "dries", "dishes"), ("top", "front", "not-sure")):
        told = KindTold(does=does, opening=opening)  # type: ignore[arg-type]  # from the table
        assert families_left(told, known)


def test_a_plate_is_a_code() -> None:
    """Tests that spellings of one name meet, and that what is no name is refused."""
    codes = [plate_code(words) for words in ("Kestrel 520", "kestrel-520", "KESTREL520")]
    assert len({same_plate(code) for code in codes if code is not None}) == 1
    assert plate_code("  ") is None
    for wrong in ("洗", "-", "x" * 25):
        with pytest.raises(FactError, match="letters A to Z"):
            plate_code(wrong)
    with pytest.raises(FactError):
        encoded(Machine(plate="Ada Finch, 3 Mill Lane"))


def test_another_machine_has_no_name_yet(store: Store, author: Author) -> None:
    """Tests that a name told before the family stays, and goes with another machine."""
    library = Library()
    job = new_job(store, author, [Machine(plate="KESTREL")])
    record(store, job, author, Machine(family="front_load"))
    record(store, job, author, Machine(age_years=4))
    assert plate_of(job_view(store, library, job).entries) == "KESTREL"
    fact = record(store, job, author, Machine(family="dryer"))
    assert plate_of(job_view(store, library, job).entries) is None
    take_back(store, job, author, fact)
    assert plate_of(job_view(store, library, job).entries) == "KESTREL"


def test_a_sketch_taken_back_leaves_the_one_before(store: Store, author: Author) -> None:
    """Tests undoing a sketch, and that labels once erased become numbers."""
    first = PanelSketched(layout="row", lamps=["off", "2 blinks"], labels="labels-0001")
    job = new_job(store, author, [Machine(family="front_load"), first])
    second = record(store, job, author, PanelSketched(layout="ring", lamps=["steady"]))
    take_back(store, job, author, second)
    told = latest(job_view(store, Library(), job).entries, PanelSketched)
    assert told == first
    assert look_of(first).lights == (OFF, blinks(2))
    assert front_of(first, {"labels-0001": "door\nrinse"}).labels == ("door", "rinse")
    assert front_of(first, {"labels-0001": None}).labels == ("", "")


@pytest.mark.parametrize(
    "text",
    [
        '{"kind":"sketch","layout":"row","lamps":[]}',
        '{"kind":"sketch","layout":"row","lamps":["1 blinks"]}',
        '{"kind":"sketch","layout":"row","lamps":["Ada Finch"]}',
        '{"kind":"sketch","layout":"heap","lamps":["off"]}',
        '{"kind":"kind-told","does":"irons"}',
    ],
)
def test_only_coded_values(text: str) -> None:
    """Tests that a sketch holds places and lights alone, and no words."""
    with pytest.raises(FactError, match="cannot be kept"):
        decoded(text)
