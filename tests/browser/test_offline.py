"""No signal, in Chromium: jobs go on, nothing is lost, and all of it arrives once."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Response, expect

from asking import NOON, PASSWORD, add_accounts
from phones import ADD, HELD, all_sent, call, held, kept_in, phone_of, send
from served import Served, served
from stores import free_port
from walking import WIDE

pytestmark = pytest.mark.browser
OLD = """async (path) => {
  const request = indexedDB.open('tubside');
  await new Promise((done) => { request.onsuccess = done; });
  const transaction = request.result.transaction('facts', 'readwrite');
  transaction.objectStore('facts').add({id: 'left-by-an-older-one', job: path.split('/')[2],
    device: 'phone-of-old-days', sequence: 1, at: new Date().toISOString(),
    body: {kind: 'payer', who: 'insurer'}});
  await new Promise((done) => { transaction.oncomplete = done; });
  request.result.close();
}"""
QUOTA = """() => {
  IDBObjectStore.prototype.add = () => { throw new DOMException('full', 'QuotaExceededError'); };
}"""


def answer(page: Page, card: str) -> None:
    """Tick what can hurt on a card and tap its first answer."""
    page.locator(card).wait_for()
    for box in page.locator(f"{card} .caution input").all():
        box.check()
    page.locator(f"{card} .outcome:not(.outcome--nothing)").first.click()


def test_a_job_goes_on_without_signal(chromium: Browser, shop: Served) -> None:
    """Tests the network cut, a reload, a check told, its belief, a danger, and signal again."""
    context = phone_of(chromium)
    page = context.new_page()
    job = call(page, shop.address)
    before = len(kept_in(shop.data))
    context.set_offline(True)
    page.reload()
    page.evaluate("window.stayed = true")
    answer(page, "#step")
    expect(page.locator("#unsent")).to_contain_text("1 fact not yet sent")
    expect(page.locator(".peg--unsent")).to_have_count(1)
    page.locator("#phone-step .outcome").first.wait_for()
    assert page.evaluate("window.stayed && document.activeElement.tagName") == "H2"
    assert "worked out on this phone" in page.inner_text("#phone-step .eyebrow")
    assert "%" in page.inner_text("[aria-labelledby=h-belief]")
    assert page.evaluate(WIDE) == []
    page.reload()
    answer(page, "#phone-step")
    expect(page.locator("#unsent")).to_contain_text("2 facts not yet sent")
    expect(page.locator(".peg--unsent")).to_have_count(2)
    expect(page.locator("#phone-advice")).to_have_count(1)
    page.click("summary:has-text('A danger')")
    page.click("button[name=danger][value=smoke]")
    expect(page.locator("#stops .danger")).to_contain_text("Stop")
    expect(page.locator("#step, #phone-step, [aria-labelledby=h-belief]")).to_have_count(0)
    context.set_offline(False)
    all_sent(page)
    assert len(kept_in(shop.data)) >= before + 3
    bodies = [body for _, where, body in kept_in(shop.data) if f"/jobs/{where}" == job]
    assert '{"kind":"danger","kinds":["smoke"]}' in bodies
    context.close()


def tell_all(page: Page, address: str, job: str) -> None:
    """Tell what the forms of a job tell, each form once."""
    page.goto(f"{address}{job}")
    page.click("summary:has-text('Who pays')")
    page.click("button[name=who][value=landlord]")
    page.wait_for_load_state()
    page.goto(f"{address}{job}/panel")
    page.click(".key[value='pause:3 blinks']")
    page.click("button[name=keep]")
    page.wait_for_load_state()
    page.goto(f"{address}{job}/trouble")
    page.click("summary")
    page.locator("input[name=age]").fill("9,5")
    page.locator("label:has(input[name=moved][value=yes])").click()
    page.locator("label:has(input[name=condition][value=wont_drain])").last.click()
    page.click("button:has-text('Keep what is ticked')")
    page.wait_for_load_state()
    page.goto(f"{address}{job}/machine")
    page.fill("input[name=serial]", "b 0042/äb7")
    page.click("button[name=machine][value=serial]")
    page.wait_for_load_state()
    page.goto(f"{address}{job}/closing")
    cause = page.locator("input[name=cause][value=pump-object]")
    cause.evaluate("(it) => { it.checked = true; }")
    page.locator("label:has(input[value=seen])").click()
    page.locator("textarea[name=note]").fill("a coin in it")
    page.click("button:has-text('Close the job')")
    page.wait_for_load_state()


@pytest.mark.soak
def test_the_phone_makes_the_facts_of_the_server(chromium: Browser, shop: Served) -> None:
    """Tests that the same forms tell the same bodies with signal and without."""
    context = phone_of(chromium)
    page = context.new_page()
    told: list[list[str]] = []
    for signal in (True, False):
        job = call(page, shop.address)
        context.set_offline(not signal)
        tell_all(page, shop.address, job)
        context.set_offline(False)
        page.goto(f"{shop.address}{job}")
        all_sent(page)
        bodies = [json.loads(b) for _, where, b in kept_in(shop.data) if f"/jobs/{where}" == job]
        plain = [{k: v for k, v in body.items() if k not in {"words", "ref"}} for body in bodies]
        told.append([json.dumps(body, sort_keys=True) for body in plain])
    assert told[0] == told[1]
    assert len(told[0]) >= 9
    page.goto(f"{shop.address}{job}")
    assert "closed" in page.inner_text("main")
    context.close()


@pytest.mark.soak
def test_a_call_is_taken_without_signal(chromium: Browser, shop: Served) -> None:
    """Tests that a job opened on the phone keeps its number and is advised on afterwards."""
    context = phone_of(chromium)
    page = context.new_page()
    call(page, shop.address)
    context.set_offline(True)
    page.goto(f"{shop.address}/call")
    page.click("button[name=danger][value=none]")
    page.click("button[value='family:top_load']")
    page.locator("[data-family=top_load] button[value=wont_drain]").click()
    expect(page.locator("#unsent")).to_contain_text("3 facts not yet sent")
    expect(page.locator(".peg--unsent")).to_have_count(3)
    address = page.url
    context.set_offline(False)
    all_sent(page)
    page.goto(address)
    page.locator("#step").wait_for()
    context.close()


def test_a_part_and_a_trip_are_told_without_signal(chromium: Browser, shop: Served) -> None:
    """Tests a part used, a visit that failed and a machine taken along, told with no signal."""
    context = phone_of(chromium)
    page = context.new_page()
    part = {"number": "DP-1", "title": "Drain pump", "kinds": "top_load/drain-pump"}
    send(page, f"{shop.address}/parts", part)
    job = call(page, shop.address)
    visit = {"do": "book", "agreed": "yes", "fee": "48", "day": "2026-03-04"}
    send(page, f"{shop.address}{job}/visit", {**visit, "from": "09:00", "until": "10:00"})
    page.reload()
    held(page, "used", "trip")
    context.set_offline(True)
    page.goto(f"{shop.address}{job}/used")
    page.locator("label:has(input[value='DP-1'])").click()
    page.fill("input[name=units]", "2")
    page.click("button:has-text('Peg it on the line')")
    expect(page.locator(".peg--unsent")).to_contain_text(re.compile("Part used: 2 . Drain pump"))
    for pressed in ("It failed", "Taken to the workshop"):
        page.goto(f"{shop.address}{job}/trip")
        page.select_option("select[name=reason]", "nobody-home")
        page.click(f"button:has-text('{pressed}')")
    expect(page.locator("#unsent")).to_contain_text("3 facts not yet sent")
    expect(page.locator("#line")).to_contain_text("Visit failed: nobody home")
    context.set_offline(False)
    all_sent(page)
    bodies = [json.loads(body) for _, where, body in kept_in(shop.data) if f"/jobs/{where}" == job]
    assert {"kind": "part-used", "part": "DP-1", "units": 2, "place": "van:1"} in bodies
    assert {"kind": "visit", "status": "failed", "reason": "nobody-home"} in bodies
    assert {"kind": "machine-moved", "to": "workshop"} in bodies
    beside = context.new_page()  # the page of the job loads itself anew about now
    beside.goto(f"{shop.address}/part/DP-1")
    expect(beside.locator("main")).to_contain_text("-2")
    context.close()


def test_two_phones_of_one_job(chromium: Browser, shop: Served) -> None:
    """Tests that both facts of two phones stay, and what cannot be ordered is in doubt."""
    first, second = phone_of(chromium), phone_of(chromium)
    pages = (first.new_page(), second.new_page())
    job = call(pages[0], shop.address)
    pages[1].goto(f"{shop.address}{job}")
    held(pages[1])
    told = (
        {"kind": "remedy", "remedy": "clean_pump_trap", "outcome": "still-fails"},
        {"kind": "check", "check": "foam", "outcome": "none"},
    )
    for context, page, body in zip((first, second), pages, told, strict=True):
        context.set_offline(True)
        page.evaluate(ADD, [job, {**body, "by": "technician"}])
        page.reload()
        expect(page.locator("#unsent")).to_contain_text("1 fact not yet sent")
    for context, page in zip((first, second), pages, strict=True):
        context.set_offline(False)
        all_sent(page)
    bodies = [
        json.loads(b)["kind"] for _, where, b in kept_in(shop.data) if f"/jobs/{where}" == job
    ]
    assert {"remedy", "check"} <= set(bodies)
    pages[0].goto(f"{shop.address}{job}")
    expect(pages[0].locator("#line")).to_contain_text("In doubt")
    first.close()
    second.close()


def test_a_full_phone_says_so(chromium: Browser, shop: Served) -> None:
    """Tests that nothing is taken on a full phone, and the person is told to write it down."""
    context = phone_of(chromium)
    page = context.new_page()
    job = call(page, shop.address)
    page.reload()
    context.service_workers[0].evaluate(QUOTA)
    context.set_offline(True)
    page.click("summary:has-text('Who pays')")
    page.click("button[name=who][value=landlord]")
    expect(page.locator("h1")).to_have_text("Write it down on paper")
    assert "Who pays: The landlord pays" in page.inner_text("main")
    page.goto(f"{shop.address}{job}")
    expect(page.locator(".peg--unsent")).to_have_count(0)
    context.close()


@pytest.mark.soak
def test_what_an_older_program_left_is_sent(chromium: Browser, shop: Served) -> None:
    """Tests that an entry without what later versions added still arrives."""
    context = phone_of(chromium)
    page = context.new_page()
    job = call(page, shop.address)
    page.evaluate(OLD, job)
    page.reload()
    all_sent(page)
    assert "phone-of-old-days" in {device for device, _, _ in kept_in(shop.data)}
    context.close()


@contextmanager
def served_at(data: Path, port: int) -> Iterator[subprocess.Popen[str]]:
    """The server at a port of its own, as it comes again after a crash."""
    command = [sys.executable, "-m", "tubside", "serve", "--port", str(port), "--data", str(data)]
    pipe = subprocess.PIPE
    with subprocess.Popen(command, stdout=pipe, stderr=subprocess.STDOUT, text=True) as process:
        assert process.stdout is not None
        process.stdout.readline()
        try:
            yield process
        finally:
            process.kill()


def test_the_server_dies_while_facts_are_sent(chromium: Browser, tmp_path: Path) -> None:
    """Tests that facts whose message the server did not answer arrive once it is back."""
    data, port, context = tmp_path / "shop", free_port(), phone_of(chromium)
    address, page = f"http://127.0.0.1:{port}", context.new_page()
    body = {"kind": "check", "check": "foam", "outcome": "none", "by": "customer"}
    with served_at(data, port) as server:
        job = call(page, address)
        context.set_offline(True)
        told = [job, body, "", 300]
        ids = page.evaluate(ADD, told)

        def kill(answer: Response) -> None:
            if answer.url.endswith("/sync"):
                server.kill()

        page.on("response", kill)
        context.set_offline(False)
        while server.poll() is None:  # a wait of its own would hold up the browser
            page.wait_for_timeout(20)
    expect(page.locator("#unsent")).to_contain_text("not yet sent")
    page.wait_for_timeout(1000)  # it may load itself anew, from its copy
    with served_at(data, port):
        page.goto(f"{address}{job}")
        all_sent(page)
        expect(page.locator("#step")).to_be_visible(timeout=30_000)
    kept = [b for device, _, b in kept_in(data) if device.startswith("phone-")]
    assert len(kept) == len(ids)
    context.close()


def log_in(page: Page, name: str) -> None:
    """Log in on the page that asks for it."""
    page.fill("input[name=name]", name)
    page.fill("input[name=password]", PASSWORD)
    page.click("button:has-text('Log in')")
    page.wait_for_load_state()


def test_logging_out_and_locking_out(chromium: Browser, tmp_path: Path) -> None:
    """Tests that a logout warns and keeps what waits for who told it; a lock-out erases copies."""
    from tubside.service.data_folder import open_data  # noqa: PLC0415  # before it is served
    from tubside.store.opening import Store  # noqa: PLC0415

    store: Store = open_data(tmp_path, lambda: NOON)
    add_accounts(store)
    store.close()
    with served(tmp_path) as running:
        context, page = phone_of(chromium), None
        page = context.new_page()
        page.goto(f"{running.address}/")
        log_in(page, "edith")
        job = call(page, running.address)
        page.route("**/sync", lambda route: route.abort())
        payer = {"kind": "payer", "who": "insurer"}
        page.evaluate(ADD, [job, payer, "edith"])
        page.goto(f"{running.address}/logins")
        page.locator("form[action='/logout'][data-unsent]").wait_for()
        page.click("button:has-text('Log out here')")
        expect(page.locator("[role=alert]")).to_contain_text("1 fact not yet sent")
        page.click("button:has-text('Log out here')")
        page.wait_for_url("**/login")
        expect(page.locator("#unsent")).to_contain_text("edith must log in here")
        assert page.evaluate(HELD) == []
        page.unroute("**/sync")
        log_in(page, "desk")
        expect(page.locator("#unsent")).to_contain_text("edith must log in here")
        page.context.clear_cookies()
        page.goto(f"{running.address}{job}")
        log_in(page, "edith")
        all_sent(page)
        assert json.dumps(payer, separators=(",", ":")) in [b for _, _, b in kept_in(tmp_path)]
        held(page)
        office = phone_of(chromium).new_page()
        office.goto(f"{running.address}/logins")
        log_in(office, "desk")
        office.locator("li", has_text="edith").locator("button:has-text('Lost')").first.click()
        expect(office.locator("main")).to_contain_text("Locked out")
        page.goto(f"{running.address}/")
        page.wait_for_url("**/login*")
        for _ in range(100):
            if page.evaluate(HELD) == []:
                break
            page.wait_for_timeout(100)
        assert page.evaluate(HELD) == []
        office.context.close()
        context.close()
