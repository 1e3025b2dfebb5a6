"""Tests of messages of many phones taken in one go: as if each had come alone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

import msgspec
import pytest

from tubside.errors import FactError
from tubside.service.keeping_sent import keep_narrowed
from tubside.service.phone_messages import OFTEN, Message, NotTaken
from tubside.service.sent import read_batch
from tubside.service.syncing import Taken, take
from tubside.store import facts as kept
from tubside.store import job_rows, settings
from tubside.store.opening import Store

NOON = datetime(2026, 3, 4, 12, 0, tzinfo=UTC)
LANDLORD = {"kind": "payer", "who": "landlord"}


def fact(name: str, job: str, number: int = 1, body: object = LANDLORD) -> dict[str, object]:
    """A fact as a phone sends it."""
    told = {"id": f"fact-{name}", "job": f"job-of-{job}", "sequence": number}
    return {**told, "at": NOON.isoformat(), "body": body}


def message(phone: str, *facts: dict[str, object], address: str = "", user: str = "") -> Message:
    """A message of a phone, from an address of its own unless one is named."""
    told = {"device": f"phone-of-{phone}-1234", "facts": facts, "user": user}
    return Message(read_batch(msgspec.json.encode(told)), None, address or phone, NOON)


def results(found: Sequence[Taken | NotTaken]) -> list[list[str]]:
    """What became of the facts of each message, none of which is refused as a whole."""
    return [
        [one.results[place].result for place in sorted(one.results)]
        for one in found
        if isinstance(one, Taken)
    ]


def all_ids(store: Store, job: str) -> set[str]:
    """Ids of a job's facts."""
    with store.reading() as opened:
        return {row.id for row in kept.of_job(opened, f"job-of-{job}")}


def test_many_phones_in_one_go(store: Store) -> None:
    """Tests that each gets its own results, also with a fact that came twice at once."""
    found = take(
        store,
        [
            message("anna", fact("anna-one", "both"), fact("anna-two", "hers", 2)),
            message("bert", fact("bert-one", "both", 1, {"kind": "came-back"})),
            message("anna", fact("anna-one", "both")),
            message("cleo"),
        ],
    )
    assert results(found) == [["kept", "kept"], ["kept"], ["there"], []]
    assert all_ids(store, "both") == {"fact-anna-one", "fact-bert-one"}
    first = found[0]
    assert isinstance(first, Taken)
    assert first.touched == ("job-of-both", "job-of-hers")
    with store.reading() as opened:
        assert job_rows.all_ids(opened) == ["job-of-both", "job-of-hers"]
    assert results(take(store, [message("anna", fact("anna-one", "both"))])) == [["there"]]


@pytest.mark.parametrize(
    "clashing",
    [
        fact("bert-new", "both", 1),  # a number that is taken
        fact("anna-one", "both", 9, {"kind": "came-back"}),  # an id that is taken
        fact("anna-one", "elsewhere", 9),
    ],
)
def test_a_clash_is_refused_alone(store: Store, clashing: dict[str, object]) -> None:
    """Tests that of many facts of many phones just the one that clashes is not kept."""
    take(
        store,
        [message("anna", fact("anna-one", "both")), message("bert", fact("bert-one", "both"))],
    )
    good = [fact(f"bert-{number}", f"n{number % 3}", number) for number in range(2, 8)]
    found = take(
        store,
        [
            message("cleo", fact("cleo-one", "hers"), fact("cleo-two", "both", 2)),
            message("bert", *good[:3], clashing, *good[3:]),
            message("dora", fact("dora-one", "hers")),
        ],
    )
    assert results(found) == [
        ["kept", "kept"],
        ["kept"] * 3 + ["refused"] + ["kept"] * 3,
        ["kept"],
    ]
    assert {f"fact-bert-{number}" for number in (3, 6)} == all_ids(store, "n0")
    assert all_ids(store, "hers") == {"fact-cleo-one", "fact-dora-one"}
    second = found[1]
    assert isinstance(second, Taken)
    why = second.results[3].why
    assert why is not None
    assert why.where == f"fact 4 of the message, of job {clashing['job']}"


def test_who_is_refused_as_a_whole_keeps_nothing(store: Store) -> None:
    """Tests that turns, locked phones and other accounts are looked at one by one."""
    with store.writing() as opened:
        settings.keep_setting(opened, "device.locked:phone-of-lost-1234", "{}")
    often = [message("anna", address="same") for _ in range(OFTEN.size + 2)]
    found = take(
        store,
        [
            message("lost", fact("lost-one", "lost")),
            message("bert", fact("bert-one", "good"), user="somebody"),
            *often,
            message("cleo", fact("cleo-one", "good")),
        ],
    )
    assert found[0] == NotTaken("locked")
    assert found[1] == NotTaken("by-another")
    assert found[-3:-1] == [NotTaken("too-often", 1.0)] * 2
    assert all(isinstance(one, Taken) for one in found[2:-3])
    assert all_ids(store, "good") == {"fact-cleo-one"}
    assert all_ids(store, "lost") == set()
    assert take(store, [message("anna", address="same")]) == [NotTaken("too-often", 1.0)]


def test_nothing_told_needs_no_transaction(store: Store) -> None:
    """Tests that no facts give no results."""
    assert keep_narrowed(store, []).results == ()


def test_a_whole_message_may_be_refused() -> None:
    """Tests that a message is refused as a whole by name, number of facts and version."""
    fact = {"id": "fact-0001"}
    messages: tuple[object, ...] = (
        {"device": "server"},
        {"device": "phone-12345678", "facts": [fact] * 1001},
        {"device": "phone-12345678", "format": 2},
        [],
    )
    for wrong in messages:
        with pytest.raises(FactError, match="reload the page"):
            read_batch(msgspec.json.encode(wrong))
