"""A mail as a server takes it: plain headers, seven bits, and nothing smuggled in."""

from __future__ import annotations

from datetime import UTC, datetime
from email import message_from_bytes, policy

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tubside.documents.mail import Envelope, checked_address, mail_of
from tubside.documents.message import Message
from tubside.errors import DocumentError

AT = datetime(2026, 3, 4, 9, 5, tzinfo=UTC)
ENVELOPE = Envelope("office@example.org", "Mill Lane", "ada@example.org", AT, "ref-0001")


def test_a_mail_reads_back_as_it_was_written() -> None:
    """Tests headers and words, in letters that seven bits do not hold, through the parser."""
    mail = mail_of(Message("Grüße", "Wir kommen um 9.\nBis dann: €"), ENVELOPE)
    content = mail.as_bytes()
    assert max(content) < 128
    assert b"\n" not in content.replace(b"\r\n", b"")
    back = message_from_bytes(content, policy=policy.default)
    assert back["Subject"] == "Grüße"
    assert back["From"] == "Mill Lane <office@example.org>"
    assert back["To"] == "ada@example.org"
    assert back["Date"].datetime == AT
    assert back["Message-ID"] == "<ref-0001@example.org>"
    assert back.get_content().splitlines() == ["Wir kommen um 9.", "Bis dann: €"]


@given(st.text(max_size=40), st.text(max_size=40), st.text(max_size=40))
def test_no_words_add_a_header(subject: str, name: str, body: str) -> None:
    """Tests that whatever subject, name and words hold, there are the same headers, or none."""
    envelope = Envelope("office@example.org", name, "ada@example.org", AT, "ref-0001")
    try:
        content = mail_of(Message(subject, body), envelope).as_bytes()
    except DocumentError:
        return
    back = message_from_bytes(content, policy=policy.default)
    ours = ["From", "To", "Subject", "Date", "Message-ID", "Auto-Submitted"]
    assert back.keys()[:6] == ours
    assert {key.lower() for key in back.keys()[6:]} <= {
        "content-type",
        "content-transfer-encoding",
        "mime-version",
    }


@pytest.mark.parametrize(
    ("subject", "name", "to"),
    [
        ("Hello\r\nBcc: all@example.org", "Mill Lane", "ada@example.org"),
        ("Hello", "Mill\nBcc: all@example.org", "ada@example.org"),
        ("Hello", "Mill Lane", "ada@example.org\r\nBcc: all@example.org"),
        ("Hello", "Mill Lane", "ada@example.org, all@example.org"),
        ("Hello", "Mill Lane", "<ada@example.org>"),
        ("Hello", "Mill Lane", "ada"),
        ("Hello", "Mill Lane", "ädä@example.org"),
        ("Hello", "Mill Lane", "a@" + "b" * 260),
    ],
)
def test_what_would_be_another_header_is_refused(subject: str, name: str, to: str) -> None:
    """Tests line breaks and second addresses where one name or address belongs."""
    with pytest.raises(DocumentError):
        mail_of(Message(subject, "x"), Envelope("office@example.org", name, to, AT, "ref-0001"))


def test_spaces_around_an_address_are_forgiven() -> None:
    """Tests what a phone's keyboard adds."""
    assert checked_address(" ada@example.org ") == "ada@example.org"
