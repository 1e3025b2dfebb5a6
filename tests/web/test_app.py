"""The pages by their forms: a whole job without a script, and forms that must be refused."""

from __future__ import annotations

import re

import pytest

from empty_shop import Browser, call, step_of
from pictures_made import picture
from tubside.service.panel_photo import shrunk


def test_a_call_needs_only_danger_family_and_trouble(client: Browser) -> None:
    """Tests that three taps lead to advice, with cautions before the instruction."""
    page = client.get(call(client)).text
    assert "What is likely wrong" in page
    assert "most likely" in page or "possible" in page
    name, _, outcomes = step_of(page)
    assert name
    assert outcomes[-2:] == ["not sure", "could not look"]
    card = page[page.index('id="step"') :]
    assert "Read out" in card


def test_an_outcome_moves_the_belief_and_can_be_taken_back(client: Browser) -> None:
    """Tests that a fact hangs on the line, counts, and stays struck through once taken back."""
    job = call(client)
    before = client.get(job).text
    name, cautions, outcomes = step_of(before)
    form: dict[str, str | list[str]] = {
        "step": name,
        "outcome": outcomes[0],
        "caution": cautions,
    }
    after = client.post(job, data=form).text
    assert re.findall(r"cause-chance\">([^<]+)<", after) != re.findall(
        r"cause-chance\">([^<]+)<", before
    )
    facts = re.findall(r'name="fact" value="([^"]+)"', after)
    back = client.post(f"{job}/take-back", data={"fact": facts[0], "reason": "misheard"}).text
    assert "<s>" in back
    assert re.findall(r"cause-chance\">([^<]+)<", back) == re.findall(
        r"cause-chance\">([^<]+)<", before
    )


def test_cautions_are_ticked_before_an_outcome_counts(client: Browser) -> None:
    """Tests that an outcome without its cautions is refused, saying so."""
    job = call(client, trouble="no_water")
    name, cautions, outcomes = step_of(client.get(job).text)
    assert cautions
    page = client.get(job).text
    assert page.index("What can hurt") < page.index("Read out") < page.index('name="outcome"')
    answer = client.post(job, data={"step": name, "outcome": outcomes[0]})
    assert answer.status_code == 422
    assert "Tick what can hurt first" in answer.text
    assert f'href="{job}"' in answer.text
    not_done = client.post(job, data={"step": name, "outcome": outcomes[-1]})
    assert not_done.status_code == 200


@pytest.mark.parametrize("kind", ["shock", "burning", "smoke", "tripping", "water-at-plug"])
def test_danger_comes_before_everything(client: Browser, kind: str) -> None:
    """Tests that a danger opens a job whose page says stop first, also once it is known."""
    page = client.post("/call", data={"danger": kind})
    job = str(page.url.path)
    assert page.text.index("Stop") < page.text.index("Which machine is it?")
    assert page.text.index("Stop") < page.text.index("More to tell")
    client.post(f"{job}/machine", data={"machine": "family:front_load"})
    client.post(f"{job}/trouble", data={"first": "wont_drain"})
    told = client.get(job).text
    assert told.index('class="danger"') < told.index('id="step"')
    listed = client.get(f"{job}/steps").text
    assert f'{job}/steps/when-trips"' in listed
    for touching in ("strainer", "clear-strainer", "power-reset", "drain-sound"):
        assert f'{job}/steps/{touching}"' not in listed
        assert client.get(f"{job}/steps/{touching}").status_code == 422


def test_lamps_are_tapped_without_a_script(client: Browser) -> None:
    """Tests that taps change the drawing and keep nothing until told to."""
    job = str(client.post("/call", data={"danger": "none"}).url.path).removesuffix("/machine")
    client.post(f"{job}/machine", data={"machine": "model:aldermoor-tern"})
    untold = client.get(f"{job}/panel").text
    assert 'name="lamp.pause" value="not sure"' in untold
    tapped = client.post(f"{job}/panel", data={"lamp.pause": "not sure", "tap": "pause"}).text
    assert 'name="lamp.pause" value="steady"' in tapped
    counted = client.post(
        f"{job}/panel", data={"lamp.pause": "steady", "set": "pause:4 blinks", "sound": "pulses"}
    ).text
    assert 'name="lamp.pause" value="4 blinks"' in counted
    assert re.search(r'name="sound" value="pulses" checked', counted)
    assert client.post(f"{job}/panel", data={"keep": "yes"}).status_code == 422
    kept = client.post(f"{job}/panel", data={"lamp.pause": "4 blinks", "keep": "yes"})
    assert "Panel: pause 4 blinks" in kept.text


def test_a_visit_is_booked_after_consent_and_the_job_closed(client: Browser) -> None:
    """Tests consent before the visit, and closing with a confirmed cause."""
    job = call(client)
    assert client.post(f"{job}/visit", data={"do": "book"}).status_code == 422
    booked = client.post(f"{job}/visit", data={"do": "book", "fee": "85", "agreed": "yes"})
    assert "Visit booked</p>" in booked.text
    assert "agreed to the call-out fee of 85.00" in booked.text
    assert "Visit booked" in booked.text
    client.post(f"{job}/visit", data={"do": "arrive"})
    form = {"cause": "pump-object", "confirmed_by": "seen"}
    closed = client.post(f"{job}/closing", data=form).text
    assert "This job is closed" in closed
    assert job not in client.get("/").text
    assert job in client.get("/?closed=1").text


def test_personal_data_stays_beside_the_job_and_can_be_erased(client: Browser) -> None:
    """Tests that a name never stands in an address, and that erasing keeps the advice."""
    job = call(client)
    named = client.post(f"{job}/person", data={"do": "keep", "name": "Ada Quill", "phone": "5 55"})
    assert "Ada Quill" in named.text
    assert "Ada" not in str(named.url)
    erased = client.post(f"{job}/person", data={"do": "erase"}).text
    assert "Ada Quill" not in erased
    assert "What is likely wrong" in erased


def test_a_photo_is_kept_and_others_are_refused(client: Browser) -> None:
    """Tests that a picture is served back and that anything else is told apart."""
    job = call(client)
    png = picture()
    page = client.post(
        f"{job}/photos", data={"of": "rating-plate"}, files={"photo": ("a.png", png)}
    )
    found = re.search(r'src="(/jobs/[^"]+/photos/[^"]+)"', page.text)
    assert found is not None
    assert client.get(found[1]).content == shrunk(png)
    bad = client.post(f"{job}/photos", data={"of": "other"}, files={"photo": ("a.svg", b"<svg/>")})
    assert bad.status_code == 422


def test_the_same_form_counts_once(client: Browser) -> None:
    """Tests that a double tap on one form keeps one fact."""
    job = call(client)
    for _ in range(2):
        page = client.post(f"{job}/payer", data={"who": "landlord", "once": "a" * 32}).text
    assert page.count('peg-what">The landlord pays<') == 1


@pytest.mark.parametrize(
    ("path", "form"),
    [
        ("/call", {}),
        ("/call", {"danger": "nonsense"}),
        ("{job}", {"step": "nothing-such", "outcome": "x"}),
        ("{job}/machine", {"machine": "family:toaster"}),
        ("{job}/machine", {"machine": "model:../../etc"}),
        ("{job}/trouble", {"first": "no_such_thing"}),
        ("{job}/trouble", {"first": "leak", "age": "old"}),
        ("{job}/payer", {"who": "nobody"}),
        ("{job}/take-back", {"fact": "x" * 20}),
        ("{job}/take-back", {"fact": "\x00"}),
        ("{job}/visit", {"do": "fly"}),
        ("{job}/closing", {"cause": "gremlins", "confirmed_by": "seen"}),
        ("{job}/steps/nothing-such", {"outcome": "x"}),
        ("{job}/panel", {"tap": "pause"}),
        ("{job}/person", {"do": "keep", "name": "x" * 600}),
        ("{job}/photos", {"of": "other"}),
    ],
)
def test_bad_forms_are_told_plainly(client: Browser, path: str, form: dict[str, str]) -> None:
    """Tests that a form that cannot be kept gives a clear page and never an error of ours."""
    answer = client.post(path.format(job=call(client)), data=form)
    assert answer.status_code in {404, 422}
    assert "did not work" in answer.text


def test_unknown_pages_are_told_plainly(client: Browser) -> None:
    """Tests that lost addresses and wrong methods give our own page."""
    for path in ("/nothing", "/jobs/unknown-job", "/jobs/x/photos/y", "/static/secret.txt"):
        assert client.get(path).status_code == 404
    assert client.post("/").status_code == 405


def test_first_load_is_small(client: Browser) -> None:
    """Tests that the job page and all it needs stay under 200 kB even uncompressed."""
    job = call(client)
    parts = [job, "/static/tubside.css", "/static/tubside.js", "/static/mark.svg"]
    assert sum(len(client.get(part).content) for part in parts) < 200_000


def test_files_have_lasting_addresses(client: Browser) -> None:
    """Tests that a page names each file by its content, to be kept for ever."""
    page = client.get("/").text
    found = re.findall(r'(?:src|href)="(/static/[^"]+)"', page)
    assert len(set(found)) == 4
    for path in found:
        answer = client.get(path)
        assert answer.status_code == 200
        assert "immutable" in answer.headers["cache-control"]
    assert "immutable" not in client.get("/static/tubside.css").headers["cache-control"]


def test_enter_in_a_field_chooses_no_outcome(client: Browser) -> None:
    """Tests that the first button of each form of outcomes is one that cannot be pressed."""
    page = client.get(call(client)).text
    card = page[page.index('id="step"') : page.index("More to tell")]
    first = re.search(r"<button[^>]*>", card)
    assert first is not None
    assert "disabled" in first[0]
