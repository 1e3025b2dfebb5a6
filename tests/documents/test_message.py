"""Tests of message texts and the links that open them."""

from __future__ import annotations

from urllib.parse import parse_qs, urlsplit

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.documents.message import (
    Meeting,
    booked,
    delayed,
    dialled,
    mailto_link,
    on_the_way,
    sms_link,
)
from tubside.errors import DocumentError

MEETING = Meeting(
    shop="Mill Lane Laundry Repairs",
    telephone="01632 960100",
    machine="washing machine",
    day="Tuesday 1 December",
    opens="9:00",
    closes="11:00",
)

PUBLISHED = [
    # RFC 5724, section 1.1.1 and 2.5: examples of the sms scheme; from memory
    (sms_link("+15105550101", "hello there"), "sms:+15105550101?body=hello%20there"),
    # RFC 6068, section 6.1: %25 and %26 in the local part, from memory
    (mailto_link("gorby%kremvax@example.com", "", ""), "mailto:gorby%25kremvax@example.com"),
    (mailto_link("unlikely?address@example.com", "", ""), "mailto:unlikely%3Faddress@example.com"),
    (mailto_link("Mike&family@example.org", "", ""), "mailto:Mike%26family@example.org"),
    # RFC 6068, section 6.3: UTF-8 in a subject, from memory
    (
        mailto_link("user@example.org", "caf\u00e9", ""),
        "mailto:user@example.org?subject=caf%C3%A9",
    ),
    # RFC 6068, section 6.1: line breaks in a body, from memory
    (
        mailto_link("infobot@example.com", "", "send current-issue\nsend index").replace(
            "subject=&", ""
        ),
        "mailto:infobot@example.com?body=send%20current-issue%0D%0Asend%20index",
    ),
]


@pytest.mark.parametrize(("ours", "theirs"), PUBLISHED)
def test_published_links(ours: str, theirs: str) -> None:
    """Tests links against the examples of their standards, ours beginning as theirs."""
    assert ours.startswith(theirs)
    assert ours[len(theirs) :] in {"", "?subject=&body=", "&body="}


@given(st.text(), st.text())
def test_any_words_come_back(subject: str, body: str) -> None:
    """Tests that words survive the link, line breaks as CR LF, and none breaks out."""
    link = mailto_link("a@example.org", subject, body)
    assert link.isascii()
    assert not set(link) & set(" \r\n\"<>#'")
    read = parse_qs(urlsplit(link).query, keep_blank_values=True, strict_parsing=True)
    for wanted, (found,) in zip((subject, body), read.values(), strict=True):
        lines = wanted.replace("\r\n", "\n").replace("\r", "\n").encode(errors="replace").decode()
        assert found == lines.replace("\n", "\r\n")


@pytest.mark.parametrize(
    ("written", "number"),
    [("+44 (1632) 960-017", "+441632960017"), ("01632/960.018", "01632960018"), ("999", "999")],
)
def test_numbers(written: str, number: str) -> None:
    """Tests that a number is dialled without the marks it is written with."""
    assert dialled(written) == number


@pytest.mark.parametrize(
    "written", ["", "12", "1" * 16, "12;ext=3", "44+1632960017", "\u0661\u0662\u0663"]
)
def test_no_numbers(written: str) -> None:
    """Tests that what is no number is refused."""
    with pytest.raises(DocumentError, match="no telephone number"):
        dialled(written)


@pytest.mark.parametrize("address", ["", "x", "a b@c", "a@b@", "@b", "a@b\nc"])
def test_no_address(address: str) -> None:
    """Tests that what is no mail address is refused."""
    with pytest.raises(DocumentError, match="no mail address"):
        mailto_link(address, "x", "y")


def test_texts_say_what_matters() -> None:
    """Tests that each text names its times, how to change them and who writes."""
    for message, times in (
        (booked(MEETING), ["Tuesday 1 December", "9:00", "11:00"]),
        (on_the_way(MEETING, "9:20", "9:50"), ["9:20", "9:50"]),
        (delayed(MEETING, "11:30"), ["9:00", "11:00", "11:30"]),
    ):
        for said in [*times, "01632 960100", "Mill Lane Laundry Repairs"]:
            assert said in message.body
        assert message.sms("01632 960017").startswith("sms:01632960017?body=")
        assert message.mailto("a@example.org").startswith("mailto:a@example.org?subject=")
