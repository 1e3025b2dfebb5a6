"""What may stand in a fact."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.errors import FactError
from tubside.service.records import (
    KINDS,
    AdviceShown,
    Body,
    CheckDone,
    Consent,
    Indication,
    Machine,
    Reported,
    decoded,
    encoded,
)


def test_each_kind_has_its_name() -> None:
    """Tests that the names that facts are stored under do not change unnoticed."""
    assert (
        *("machine", "reported", "indication", "danger", "payer", "consent", "context"),
        *("check", "reading", "remedy", "condition", "came-back", "place", "visit", "parts-aboard"),
        *("caution", "advice", "closing", "person", "words", "photo", "retract"),
        *("kind-told", "sketch", "part-used"),
        *("return-of", "warranty", "disposed"),
        *("quote-answered", "work-stopped"),
        *("waiting", "machine-moved", "mail"),
        *("recording", "recording-read"),
        *("work-touched", "appliance-told", "safety-look", "safety-reading"),
        *("safety-rcd", "safety-release"),
    ) == KINDS


def test_equal_bodies_are_equal_texts() -> None:
    """Tests that the order in which lamps were told does not make another fact."""
    one = Indication(lamps={"b": "on", "a": "off"})
    other = Indication(lamps={"a": "off", "b": "on"})
    assert encoded(one) == encoded(other)
    assert decoded(encoded(one)) == other


@pytest.mark.parametrize(
    "body",
    [
        Machine(age_years=81),
        Machine(age_years=float("nan")),
        Consent(amount_cents=-1, agreed=True),
        Consent(amount_cents=89.5, agreed=True),  # type: ignore[arg-type]
        CheckDone(check="", outcome="x", by="customer"),
        CheckDone(check="a\x00b", outcome="x", by="customer"),
        CheckDone(check="\ud800", outcome="x", by="customer"),
        CheckDone(check="x" * 81, outcome="x", by="customer"),
        CheckDone(check="x", outcome="x", by="neighbour"),  # type: ignore[arg-type]
        Reported(conditions=["x"] * 61),
        AdviceShown(leading={"x": 1.5}),
    ],
)
def test_what_is_not_allowed(body: Body) -> None:
    """Tests that a fact out of range is refused before it is kept."""
    with pytest.raises(FactError, match="cannot be kept"):
        encoded(body)


@given(st.binary(max_size=200) | st.text(max_size=200))
def test_anything_else_is_refused(text: bytes | str) -> None:
    """Tests that what is no fact gets a plain answer."""
    with pytest.raises(FactError):
        decoded(text)


@pytest.mark.parametrize(
    "text", ['{"kind":"birds"}', '{"kind":"machine","colour":"red"}', '{"kind":"retract"}', "{}"]
)
def test_unknown_kinds_and_keys(text: str) -> None:
    """Tests that a fact of another program is not half understood."""
    with pytest.raises(FactError):
        decoded(text)
