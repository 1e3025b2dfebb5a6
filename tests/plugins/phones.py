"""Phones in Chromium that hold a job, for the tests of what works with no signal."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from playwright.sync_api import Browser, BrowserContext, Page, expect
from playwright.sync_api import Error as PlaywrightError

HELD = """() => Promise.race([navigator.serviceWorker.ready,
    new Promise((_, no) => setTimeout(no, 20000, new Error('no worker came')))])
  .then(() => caches.open('copies')).then((copies) => copies.keys())
  .then((all) => all.map((one) => new URL(one.url).pathname))"""
ADD = """async ([path, body, user = '', count = 1]) => {
  const [name] = performance.getEntriesByType('resource').map((one) => one.name)
    .filter((one) => one.includes('/outbox-'));
  const outbox = await import(name);
  const field = document.querySelector('#job input[name=told]');
  const before = field ? JSON.parse(field.value) : {};
  const facts = Array.from({length: count}, () => ({id: crypto.randomUUID(), body, say: 'told'}));
  await outbox.keep({job: path.split('/')[2], facts, beside: []}, {...before, user});
  return facts.map((fact) => fact.id);
}"""
EMPTY = """async () => {
  const request = indexedDB.open('tubside');
  await new Promise((done) => { request.onsuccess = done; });
  const counted = request.result.transaction('facts').objectStore('facts').count();
  await new Promise((done) => { counted.onsuccess = done; });
  request.result.close();
  return counted.result === 0;
}"""


def phone_of(chromium: Browser) -> BrowserContext:
    """A phone with nothing on it."""
    context = chromium.new_context(viewport={"width": 390, "height": 800})
    context.set_default_timeout(20_000)
    return context


def call(page: Page, address: str) -> str:
    """Take a call until there is advice; the path of its job, which the phone then holds."""
    page.goto(f"{address}/call")
    page.click("button[name=danger][value=none]")
    page.click("button[value='model:aldermoor-tern']")
    page.click("button[name=first][value=wont_drain]")
    page.locator("#step").wait_for()
    return held(page)


def held(page: Page, *also: str) -> str:
    """Wait until the phone holds the job of this page and its numbers; its path."""
    path = page.url.removesuffix("#line").partition("/jobs/")[2]
    more = ("", "/pocket.json", "/machine", "/closing", *(f"/{one}" for one in also))
    wanted = [f"/jobs/{path}{one}" for one in more]
    for _ in range(100):
        if set(wanted) <= set(page.evaluate(HELD)):
            return f"/jobs/{path}"
        page.wait_for_timeout(100)
    msg = f"the phone does not hold {wanted}"
    raise AssertionError(msg)


def nothing_waits(page: Page) -> bool:
    """Whether the phone's own database is empty; not known while a page loads itself anew."""
    try:
        return bool(page.evaluate(EMPTY))
    except PlaywrightError as gone:
        if "context was destroyed" not in str(gone):
            raise
        return False


def all_sent(page: Page) -> None:
    """Wait until the phone's own database holds nothing that waits."""
    for _ in range(300):  # a function of the page that waits would be true at once
        if nothing_waits(page):
            break
        page.wait_for_timeout(100)
    else:
        msg = "facts still wait on the phone after thirty seconds"
        raise AssertionError(msg)
    expect(page.locator("#unsent")).to_be_hidden(timeout=30_000)


def kept_in(data: Path) -> list[tuple[str, str, str]]:
    """Device, job and body of every fact on the disk but advice, in the order received."""
    (found,) = [path for path in data.iterdir() if path.suffix in {".db", ".sqlite", ".sqlite3"}]
    query = "SELECT device, job, body FROM facts WHERE kind <> 'advice' ORDER BY at, sequence"
    with closing(sqlite3.connect(found)) as database:
        return list(database.execute(query))


def send(page: Page, address: str, told: dict[str, str]) -> None:
    """Send a form as a browser without scripts does."""
    form: dict[str, str | float | bool] = {**told}
    origin = "/".join(address.split("/")[:3])
    answer = page.request.post(address, form=form, headers={"origin": origin})
    assert answer.ok, answer.text()
