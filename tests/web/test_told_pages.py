"""What is told by forms of a job's page: pictures, payers, dangers, windows, words."""

from __future__ import annotations

import re

from empty_shop import Browser, call, step_of


def test_a_picture_says_lamps_and_sound_in_one_tap(client: Browser) -> None:
    """Tests that a picked picture is kept as what it shows, and told as what it means."""
    job = str(client.post("/call", data={"danger": "none"}).url.path).removesuffix("/machine")
    client.post(f"{job}/machine", data={"machine": "model:brackwater-wren"})
    page = client.post(f"{job}/panel", data={"picked": "one-five"}).text
    assert "Told: 1 steady, 5 flashing, notes" in page
    assert "Reads as water stays in" in page
    again = client.get(f"{job}/panel").text
    assert 'name="lamp.5" value="flashing"' in again


def test_who_pays_may_be_told_with_the_machine(client: Browser) -> None:
    """Tests that the payer asked first is kept, with what follows from it."""
    job = str(client.post("/call", data={"danger": "none"}).url.path).removesuffix("/machine")
    form = {"machine": "family:top_load", "payer": "maker-warranty"}
    client.post(f"{job}/machine", data=form)
    page = client.post(f"{job}/trouble", data={"first": "leak"}).text
    assert "before anything is opened" in page
    assert client.post(f"{job}/machine", data={**form, "payer": "x"}).status_code == 422


def test_the_commonest_trouble_stands_first(client: Browser) -> None:
    """Tests the order of the troubles, by the shares of the pack."""
    job = str(client.post("/call", data={"danger": "none"}).url.path).removesuffix("/machine")
    client.post(f"{job}/machine", data={"machine": "family:front_load"})
    names = re.findall(r'name="first" value="([^"]+)"', client.get(f"{job}/trouble").text)
    assert names[0] == "wont_drain"
    assert names.index("wont_drain") < names.index("overload")


def test_a_danger_told_later_comes_first_at_once(client: Browser) -> None:
    """Tests that the job page stops as soon as a danger is told in the middle of a call."""
    job = call(client)
    assert 'class="danger"' not in client.get(job).text
    page = client.post(f"{job}/danger", data={"danger": "smoke"}).text
    assert page.index('class="danger"') < page.index("What is likely wrong")


def test_a_visit_has_its_window(client: Browser) -> None:
    """Tests that a window is kept whole, and refused when it is half or ends too early."""
    job = call(client)
    visit = {"do": "book", "fee": "85", "agreed": "yes", "day": "2026-03-05", "from": "10:00"}
    assert client.post(f"{job}/visit", data=visit).status_code == 422
    assert client.post(f"{job}/visit", data={**visit, "until": "09:00"}).status_code == 422
    page = client.post(f"{job}/visit", data={**visit, "until": "12:00"}).text
    assert "Visit booked, 5 Mar, 10:00 to 12:00" in page


def test_two_forms_of_one_page_count_both(client: Browser) -> None:
    """Tests that no two forms of a page share what makes a form count once."""
    page = client.get(call(client)).text
    once = re.findall(r'name="once" value="([^"]+)"', page)
    assert len(once) > 5
    assert len(set(once)) == len(once)


def test_words_and_reasons_hang_on_the_line(client: Browser) -> None:
    """Tests that a fact taken back stays, with the reason."""
    job = call(client)
    facts = re.findall(r'name="fact" value="([^"]+)"', client.get(job).text)
    back = {"fact": facts[0], "reason": "misheard"}
    client.post(f"{job}/payer", data={"who": "customer"})
    client.post(f"{job}/take-back", data=back)
    told = client.post(f"{job}/trouble", data={"first": "leak"}).text
    assert "Taken back: misheard" in told


def test_a_dryer_is_a_family_like_any_other(client: Browser) -> None:
    """Tests that a call may name a dryer, known or not, and gets a step with its caution."""
    page = client.post("/call", data={"danger": "none"}).text
    assert 'value="family:dryer"' in page
    assert 'value="model:cindle-lark"' in page
    job = call(client, machine="model:cindle-lark", trouble="tank_full")
    name, cautions, _ = step_of(client.get(job).text)
    assert (name, cautions) == ("tank-look", ["wet-floor"])


def test_gas_leaves_the_gas_fitter_alone(client: Browser) -> None:
    """Tests that after a smell of gas no page offers anything but the hand-over."""
    told = client.post("/call", data={"danger": "gas"})
    job = str(told.url.path)
    assert "gas emergency service" in told.text
    client.post(f"{job}/machine", data={"machine": "family:dryer"})
    client.post(f"{job}/trouble", data={"first": "no_heat"})
    page = client.get(job).text
    assert page.index("gas emergency service") < page.index('id="step"')
    assert "Refer to a gas fitter" in page[page.index('id="step"') :]
    assert "Book a visit" not in page
    assert f"{job}/steps/" not in client.get(f"{job}/steps").text
    assert client.get(f"{job}/steps/lint-filter").status_code == 422
