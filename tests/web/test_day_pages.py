"""The day by its forms, without a script: booked, moved, squeezed in, waited for, given out."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import unquote

import pytest

from mail_server import Behaviour, mail_server
from tubside.service.jobs import job_view
from tubside.service.library import Library
from tubside.service.people import PersonData, add_person
from tubside.service.records import Consent, PersonNamed
from unscripted import Unscripted, unscripted_at

DAY = "/day/2026-03-03"
AGREED = Consent(amount_cents=4800, agreed=True)
IDA = {
    "do": "technician",
    "name": "ida",
    "start": "52.1, 0.25",
    "begins": "08:00",
    "finishes": "17:00",
}
TOOK = {"low": "30", "mean": "45", "high": "75", "do": "book"}


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Unscripted]:
    """A shop whose office set one technician's hours."""
    made = unscripted_at(tmp_path, Library())
    assert made.post("/day-settings", IDA).status_code == 200
    yield made
    made.store.close()


def booked(shop: Unscripted, name: str, begins: str, ends: str) -> str:
    """Return a job with a visit booked by its form."""
    ref = f"person-{name}"
    add_person(shop.store, ref, PersonData(name=name, place="52.11, 0.26"), shop.clock())
    job = shop.job(PersonNamed(ref=ref), AGREED)
    window = {"day": "2026-03-03", "from": begins, "until": ends}
    page = shop.post(f"/jobs/{job}/trip", {**TOOK, **window, "once": f"book-{name}-0001"})
    assert "Visit booked, 3 Mar" in page.text
    return job


def order(text: str) -> list[str]:
    """Return the names in the order of the page."""
    return re.findall(r'<h3><a href="[^"]+">([^<]+)<', text)


def test_booked_seen_moved_and_put_back(shop: Unscripted) -> None:
    """Tests the page: in order, with windows and late chances; moved by a button, and back."""
    booked(shop, "Adaline", "09:00", "10:00")
    late = booked(shop, "Bertram", "13:00", "14:00")
    page = shop.get(DAY)
    assert order(page.text) == ["Adaline", "Bertram"]
    assert "09:00 to 10:00" in page.text
    assert page.text.count("late with") == 2
    assert "<svg" in page.text
    by_hand = shop.post(DAY, {"do": "earlier", "job": late})
    assert order(by_hand.text) == ["Bertram", "Adaline"]
    assert "put in by hand" in by_hand.text
    assert "ring ahead" in by_hand.text
    assert order(shop.post(DAY, {"do": "best"}).text) == ["Adaline", "Bertram"]


def test_one_more_call_is_asked_about_and_booked(shop: Unscripted) -> None:
    """Tests that asking changes nothing, and that booking does what was said."""
    booked(shop, "Adaline", "09:00", "10:00")
    add_person(shop.store, "person-cy", PersonData(name="Cyril", place="52.2, 0.4"), shop.clock())
    more = shop.job(PersonNamed(ref="person-cy"), AGREED)
    asked = {"job": more, "from": "11:00", "until": "13:00"}
    page = shop.get(f"{DAY}?job={more}&from=11:00&until=13:00")
    assert "It would go to ida" in page.text
    assert order(page.text) == ["Adaline"]
    assert order(shop.post(DAY, {**asked, "do": "book"}).text) == ["Adaline", "Cyril"]
    visit = job_view(shop.store, shop.library, more).visit
    assert visit is not None
    assert visit.technician == "ida"


def test_waits_are_told_on_the_list_and_end(shop: Unscripted) -> None:
    """Tests a part that is due, the list that says so, and the wait ended; a failed visit."""
    job = booked(shop, "Adaline", "09:00", "10:00")
    here = f"/jobs/{job}/trip"
    refused = shop.post(here, {"do": "failed", "reason": ""})
    assert refused.status_code == 422
    assert "nobody home" in shop.post(here, {"do": "failed", "reason": "nobody-home"}).text
    shop.post(here, {"do": "wait", "what": "part", "until": "2026-03-09"})
    assert "A part is due, 9 Mar" in shop.get("/").text
    assert "Machine taken to the workshop" in shop.post(here, {"do": "workshop"}).text
    shop.post(here, {"do": "wait-no-more"})
    assert "A part is due" not in shop.get("/").text


def test_the_calendar_is_public_by_its_secret_alone(shop: Unscripted) -> None:
    """Tests that the link of the page gives the feed, and any other link nothing."""
    page = shop.post("/day-settings", {"do": "link", "name": "ida"})
    found = re.search(r"/calendar/[A-Za-z0-9_-]{32}\.ics", page.text)
    assert found is not None
    feed = shop.get(found[0])
    assert feed.headers["content-type"].startswith("text/calendar")
    assert feed.text.startswith("BEGIN:VCALENDAR")
    assert shop.get(f"/calendar/{'x' * 32}.ics").status_code == 404


def test_texts_name_the_shop_and_its_number(shop: Unscripted) -> None:
    """Tests that the setting stands in the links, and that a number that is none is refused."""
    person = PersonData(name="Adaline", phone="01632 960999", place="52.11, 0.26")
    add_person(shop.store, "person-ada", person, shop.clock())
    job = shop.job(PersonNamed(ref="person-ada"), AGREED)
    window = {"day": "2026-03-03", "from": "09:00", "until": "10:00"}
    shop.post(f"/jobs/{job}/trip", {**TOOK, **window, "once": "book-adaline-1"})
    told = {"do": "caller", "shop": "Mill Lane Laundry Repairs", "tel": "01632 960100"}
    assert shop.post("/day-settings", told).status_code == 200
    link = re.search(r'href="(sms:[^"]+)"', shop.get(DAY).text)
    assert link is not None
    text = unquote(link[1])
    assert text.startswith("sms:01632960999?body=")
    assert "ring 01632 960100. Mill Lane Laundry Repairs" in text
    assert shop.post("/day-settings", {**told, "tel": "ask Ida"}).status_code == 422


def test_a_table_of_ways_is_brought_used_and_forgotten(shop: Unscripted) -> None:
    """Tests faults with their line, minutes of the table on the day, and the map's again."""
    person = PersonData(name="Adaline", address="3 Mill Lane, Elverdale")
    add_person(shop.store, "person-ada", person, shop.clock())
    job = shop.job(PersonNamed(ref="person-ada"), AGREED)
    window = {"day": "2026-03-03", "from": "09:00", "until": "10:00"}
    shop.post(f"/jobs/{job}/trip", {**TOOK, **window, "once": "book-adaline-1"})
    wrong = b"from,to,minutes,km\nida start,ida end,soon,1\n"
    faults = shop.post("/day-settings", {"do": "table"}, wrong)
    assert faults.status_code == 422
    assert "travel.csv:2: " in faults.text
    home = '"3 Mill Lane, Elverdale"'
    lines = [f"ida {end},{home},33,12\n{home},ida {end},35,12\n" for end in ("start", "end")]
    ends = "ida start,ida end,0,0\nida end,ida start,0,0\n"
    table = "from,to,minutes,km\n" + "".join(lines) + ends
    assert "It has 6 lines" in shop.post("/day-settings", {"do": "table"}, table.encode()).text
    page = shop.get(DAY).text
    assert "33 minutes to get there" in page
    assert "68 minutes and 24.0 km on the road" in page
    assert "Nobody knows where" not in page
    shop.post("/day-settings", {"do": "no-table"})
    assert "Nobody knows where Adaline is" in shop.get(DAY).text


def test_a_customer_is_given_as_a_card(shop: Unscripted) -> None:
    """Tests the card of a job's person, and that a job without one has none."""
    job = booked(shop, "Adaline", "09:00", "10:00")
    page = shop.get(f"/jobs/{job}/person")
    assert f"/jobs/{job}/person/card.vcf" in page.text
    card = shop.get(f"/jobs/{job}/person/card.vcf")
    assert card.headers["content-type"].startswith("text/vcard")
    assert "FN:Adaline\r\n" in card.text
    assert "GEO:geo:52.110000,0.260000" in card.text
    assert shop.get(f"/jobs/{shop.job()}/person/card.vcf").status_code == 404


@pytest.mark.parametrize(
    ("path", "data"),
    [
        ("/day/yesterday", {"do": "best"}),
        (DAY, {"do": "nothing"}),
        (DAY, {"do": "earlier", "job": "no-such-job"}),
        ("/day-settings", {**IDA, "start": "the yard"}),
        ("/day-settings", {**IDA, "name": "../x"}),
        ("/day-settings", {"do": "travel", "speed": "fast", "factor": "1.3", "unknown": "20"}),
        ("/day-settings", {"do": "travel", "speed": "0", "factor": "1.3", "unknown": "20"}),
    ],
)
def test_what_cannot_be_is_refused(shop: Unscripted, path: str, data: dict[str, str]) -> None:
    """Tests that a wrong form is told plainly and is no fault of the server."""
    assert shop.post(path, data).status_code == 422


def test_a_day_without_hours_says_what_to_do(tmp_path: Path) -> None:
    """Tests that a fresh shop is led to its settings."""
    fresh = unscripted_at(tmp_path, Library())
    assert "/day-settings" in fresh.get(DAY).text
    fresh.store.close()


def test_a_text_goes_by_the_shops_own_server(shop: Unscripted) -> None:
    """Tests the setting by its form, the text shown and sent, and the day that says so."""
    person = PersonData(name="Adaline", email="ada@example.org", place="52.11, 0.26")
    add_person(shop.store, "person-ada", person, shop.clock())
    job = shop.job(PersonNamed(ref="person-ada"), AGREED)
    window = {"day": "2026-03-03", "from": "09:00", "until": "10:00"}
    shop.post(f"/jobs/{job}/trip", {**TOOK, **window, "once": "book-adaline-1"})
    assert "mailto:ada@example.org" in shop.get(DAY).text
    how = Behaviour()
    told = {"host": "localhost", "security": "none", "sender": "office@example.org"}
    with mail_server(how) as port:
        kept = shop.post("/day-settings", {**told, "port": str(port), "do": "mail"})
        assert kept.status_code == 200
        assert "The try was sent" in shop.post("/day-settings", {"do": "mail-try"}).text
        page = shop.get(DAY).text
        assert "Send it to ada@example.org" in page
        fields = {"about": "late", "low": "09:10", "high": "09:40", "back": DAY}
        sent = shop.post(f"/jobs/{job}/mail", {**fields, "once": "mail-adaline-1"})
        assert "Mail “We are late”: sent" in sent.text
        assert b"at about 09:40" in how.taken[-1][2].replace(b"=\r\n", b"").replace(b"\r\n", b" ")
        assert shop.post(f"/jobs/{job}/mail", {**fields, "low": "soon"}).status_code == 422
    failed = shop.post(f"/jobs/{job}/mail", {**fields, "once": "mail-adaline-2"})
    assert "not sent: the mail server does not answer" in failed.text
    assert "mailto:ada@example.org" in failed.text
    shop.post("/day-settings", {"do": "no-mail"})
    assert "Send it to" not in shop.get(DAY).text
