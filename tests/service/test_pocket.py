"""What a phone takes along of a job: whole, exact, small, and told why where there is none."""

from __future__ import annotations

import ast
import gzip
import inspect
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from functools import cache
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import pytest

from pocketed import FAMILIES, knowledge, source
from stores import Ticking
from tubside.pack.fault_model import FaultModel
from tubside.service import replay, viewing
from tubside.service.advise import advise
from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.jobs import job_view, new_job, record
from tubside.service.library import Library
from tubside.service.pocket import pocket_of, pocket_of_view
from tubside.service.pocket_model import model_from, model_json
from tubside.service.pocket_readings import bin_told
from tubside.service.pocket_rules import COUNTED, rules_json
from tubside.service.records import (
    KINDS,
    Body,
    CheckDone,
    Closing,
    DangerTold,
    Machine,
    Place,
    Reported,
)
from tubside.store.opening import Store

MOST_BYTES = 120_000
"""Of 200 kB for the first load of a job's page, page, style and scripts included."""
LEFT_BEHIND = {"predicting", "machine", "fit", "table", "reading", "age_factor"}


@pytest.fixture(scope="module")
def library() -> Library:
    """Return the packs that come with the program."""
    return Library()


@pytest.fixture
def store(tmp_path: Path, clock: Ticking) -> Iterator[Store]:
    """Return an open, empty store in a file."""
    opened = open_data(tmp_path, clock)
    yield opened
    opened.close()


@pytest.fixture(autouse=True)
def few_sets(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the advice beside the pocket quick: it is not looked at here."""
    monkeypatch.setattr(viewing, "advise", lambda source, known: advise(source, known, 60))


def call(family: str, where: str = "phone") -> list[Body]:
    """A plain call."""
    condition = knowledge(family).model.names.conditions[5]
    machine = Machine(family=family, age_years=7.0)
    return [machine, Reported(conditions=[condition]), Place(where=where)]  # type: ignore[arg-type]  # one of the two


@cache
def pocket(family: str, where: str = "phone") -> dict[str, Any]:
    """The pocket of a plain call, as its JSON reads back."""
    told = pocket_of(source(call(family, where)), knowledge(family))
    result: dict[str, Any] = msgspec.json.decode(msgspec.json.encode(told))
    return result


def differing(one: object, other: object, at: str = "model") -> list[str]:
    """Where two models differ, but for what is left behind."""
    if at.rpartition(".")[2] in LEFT_BEHIND:
        return []
    if isinstance(one, np.ndarray):
        return [] if np.array_equal(one, np.asarray(other)) else [at]
    if isinstance(one, tuple) and isinstance(other, tuple):
        if len(one) != len(other):
            return [at]
        each = zip(one, other, strict=True)
        return [d for n, (a, b) in enumerate(each) for d in differing(a, b, f"{at}.{n}")]
    if is_dataclass(one):
        names = [f.name for f in fields(one)]
        return [
            d for n in names for d in differing(getattr(one, n), getattr(other, n), f"{at}.{n}")
        ]
    return [] if repr(one) == repr(other) else [at]  # nan is nan, and no bit is lost


@pytest.mark.parametrize("family", FAMILIES)
def test_the_model_comes_back_bit_for_bit(family: str) -> None:
    """Tests that a model read back from its JSON is the same in every number."""
    model: FaultModel = knowledge(family).model
    text = msgspec.json.encode(model_json(model, None))
    assert differing(model, model_from(msgspec.json.decode(text))) == []


def test_the_age_is_worked_in() -> None:
    """Tests that the factor of the machine's age is that of its year."""
    model = knowledge("top-load").model
    again = model_from(model_json(model, 7.4))
    assert np.array_equal(again.age_factor[:, 0], model.age_factor[:, 7])


@pytest.mark.parametrize("family", FAMILIES)
def test_a_pocket_is_small(family: str) -> None:
    """Tests that up to 1500 sets, all words and all bins take little of a first load."""
    text = msgspec.json.encode(pocket(family))
    assert 1000 < len(pocket(family)["sets"]["members"]) <= 1502
    assert len(gzip.compress(text, 6)) < MOST_BYTES


@pytest.mark.parametrize("family", FAMILIES)
def test_each_step_has_its_words_and_cautions(family: str) -> None:
    """Tests that every check and remedy has a title, an instruction and its own cautions."""
    pack, names = knowledge(family).pack, knowledge(family).model.names
    words = pocket(family)["words"]
    for name, told in zip(names.checks, words["checks"], strict=True):
        assert told["cautions"] == pack.checks[name].cautions
        assert told["how"] == pack.checks[name].how
        assert len(told["answers"]) == len(told["outcomes"])
    for name, told in zip(names.remedies, words["remedies"], strict=True):
        assert told["cautions"] == pack.remedies[name].cautions
        assert all(words["cautions"][caution]["harm"] for caution in told["cautions"])


def test_bins_of_a_reading_sum_to_one() -> None:
    """Tests that each table gives each row one chance in all, in as many bins as it has words."""
    readings = pocket("top-load", "site")["readings"]
    assert readings["tables"]
    for table in readings["tables"]:
        rows = np.array(table["said"]["rows"])
        assert np.allclose(rows.sum(axis=1), 1.0, atol=1e-12)
        assert rows.shape[1] == len(table["words"]) == len(table["edges"]) + 1 + table["none"]
        assert max(readings["indexes"][table["said"]["index"]]) == len(rows) - 1


def test_the_bin_of_what_was_read() -> None:
    """Tests that a limit is counted only where one bin holds all that is beyond it."""
    table = {"edges": [2.0, 5.0], "none": True}
    assert bin_told(table, 5.0, "5 L") == 2
    assert bin_told(table, 6.0, "over 6 L") == 2
    assert bin_told(table, 4.0, "over 4 L") is None
    assert bin_told(table, 1.0, "under 1 L") == 0
    assert bin_told(table, 3.0, "under 3 L") is None
    assert bin_told(table, 0.0, "no reading") == 3
    assert bin_told({**table, "none": False}, 0.0, "no reading") is None


def test_a_job_without_a_trouble_says_why(store: Store, library: Library, author: Author) -> None:
    """Tests that a pocket says what is missing, and what is dangerous, whatever is known."""
    job = new_job(store, author, [DangerTold(kinds=["smoke"])])
    told = pocket_of_view(job_view(store, library, job))
    assert (told["ready"], told["why"]) == (False, "the machine is not known yet")
    assert [one["danger"] for one in told["safety"]] == ["smoke"]


def test_a_job_closed_says_why(store: Store, library: Library, author: Author) -> None:
    """Tests that nothing is taken along of a job that is closed."""
    job = new_job(store, author, call("dryer"))
    assert pocket_of_view(job_view(store, library, job))["ready"]
    record(store, job, author, Closing(confirmed_by="not-confirmed"))
    told = pocket_of_view(job_view(store, library, job))
    assert (told["ready"], told["why"]) == (False, "this job is closed")


def test_a_pocket_names_what_it_was_computed_from(
    store: Store, library: Library, author: Author
) -> None:
    """Tests that a pocket carries the content hash, what it had seen, and goes on with the job."""
    job = new_job(store, author, call("dryer"))
    before = pocket_of_view(job_view(store, library, job))
    name = knowledge("dryer").model.names.checks[0]
    record(store, job, author, CheckDone(check=name, outcome="not sure", by="customer"))
    view = job_view(store, library, job)
    after = pocket_of_view(view)
    assert after["computed_from"] == view.computed_from == before["computed_from"]
    assert after["seen"] == dict(view.seen) != before["seen"]
    assert len(after["evidence"]["answers"]) == len(before["evidence"]["answers"]) + 1


def test_dangers_known_narrow_what_may_be_asked() -> None:
    """Tests that after gas only its own trade is left, and the customer is asked nothing."""
    told = pocket_of(source([*call("dryer"), DangerTold(kinds=["gas"])]), knowledge("dryer"))
    fitters = [
        number
        for number, stop in enumerate(knowledge("dryer").pack.stops.values())
        if stop.trade == "gasfitter"
    ]
    assert told["dangers"] == ["gas"]
    assert told["only"] == (fitters or None)
    assert not any(told["situation"]["customer_checks"])


def test_what_a_phone_passes_over_tells_nothing() -> None:
    """Tests that every kind of fact that goes into a job file is one the phone looks at."""
    tree = ast.parse(inspect.getsource(replay))
    write = next(n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef) and n.name == "write")
    told = {
        node.cls.id
        for node in ast.walk(write)
        if isinstance(node, ast.MatchClass) and isinstance(node.cls, ast.Name)
    }
    assert len(told) >= 10
    assert told <= {kind.__name__ for kind in COUNTED}
    passed_over = rules_json()["no_news"]
    assert {"payer", "photo", "advice"} <= set(passed_over) <= set(KINDS) - {"check", "machine"}
