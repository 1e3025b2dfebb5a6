"""Time of the next step on a slow phone, against Python, and what is loaded for it."""

from __future__ import annotations

import gzip
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
from playwright.sync_api import Page, Route, sync_playwright
from timing import line, median_ms

from tubside.service.job_file import parse_job
from tubside.service.knowledge import knowledge_of
from tubside.service.pocket import VERSION, pocket_of
from tubside.service.pocket_reckoning import Pocket, reckon, steps
from tubside.web.pages.rendering import STATIC, static_file, static_path

CHROMIUM = Path("/usr/bin/chromium")
SLOWER = 6
ADDRESS = "https://phone.test"
CALLS = {
    "top-load": "wont_spin",
    "front-load": "wont_drain",
    "dryer": "no_heat",
    "dishwasher": "wont_drain",
}
TIMED = """
async (belief) => {
  const { nextSteps, openPocket, update } = await import(belief);
  const json = await (await fetch("/pocket.json")).json();
  const check = json.model.names.checks.findIndex((_, i) => json.words.checks[i].outcomes.length);
  const body = { kind: "check", check: json.model.names.checks[check], by: "technician" };
  body.outcome = json.words.checks[check].outcomes[0];
  const times = { open: [], one: [], two: [] };
  const timed = (name, work) => {
    const start = performance.now();
    const result = work();
    times[name].push(performance.now() - start);
    return result;
  };
  for (let run = 0; run < 9; run++) {
    const pocket = timed("open", () => openPocket(json));
    timed("one", () => nextSteps(update(pocket, { body }), 0));
    timed("two", () => nextSteps(update(pocket, { body }), 1e9));
  }
  const middle = (list) => list.sort((a, b) => a - b)[list.length >> 1];
  return { first: times.one[0], one: middle(times.one), two: middle(times.two) };
}
"""
RESTED = """
async ([belief, rounds, time, most]) => {
  const { chances, nextSteps, openPocket, update } = await import(belief);
  const json = await (await fetch("/pocket.json")).json();
  for (let round = 0; round < rounds; round++) {
    const pocket = openPocket(json);
    chances(pocket);
    nextSteps(pocket, time);
  }
  const check = json.model.names.checks.findIndex((_, i) => json.words.checks[i].outcomes.length);
  const body = { kind: "check", check: json.model.names.checks[check], by: "technician" };
  body.outcome = json.words.checks[check].outcomes[0];
  const start = performance.now();
  const pocket = update(openPocket(json), { body });
  chances(pocket);
  nextSteps(pocket, 0, most ?? Infinity);
  return performance.now() - start;
}
"""
"""A page at rest runs the arithmetic a few times before anybody taps (static/phone-advice.js)."""
ROUNDS, TIME, LOADS, AT_ONCE = 4, 150, 20, 150


def report() -> Iterator[str]:
    """Rows for a typical call of each pack, by phone and on site."""
    if not CHROMIUM.exists():
        yield "offline step: Debian's chromium is not installed"
        return
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=["--no-sandbox"])
        page = browser.new_page()
        page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        for family, condition in CALLS.items():
            for where in ("phone", "site"):
                yield from _rows(page, family, condition, where)
        yield from _rested(page)
        browser.close()
    yield _scripts()


def _rows(page: Page, family: str, condition: str, where: str) -> Iterator[str]:
    source = parse_job(f"family: {family}\nreported: [{condition}]\nwhere: {where}\n")
    told = pocket_of(source, knowledge_of(source.job))
    told = {"version": VERSION, "ready": True, "why": "", "job": "made-job", **told}
    found = _in_browser(page, told)
    pocket = Pocket.of(msgspec.json.decode(msgspec.json.encode(told)))
    python = median_ms(lambda: steps(reckon(pocket), (0, 0)), 5)
    what, sets = f"{family}, {where}", len(told["sets"]["members"])
    times = f"{found['one'] / python:.1f} x Python's {python:.0f} ms"
    yield line(f"{what}: fact and next step, {sets} sets", found["one"], "ms", "<= 300 ms", times)
    yield line(f"{what}: the same, the first time", found["first"], "ms", "reported")
    yield line(f"{what}: the same, two steps ahead", found["two"], "ms", "reported")
    size = len(gzip.compress(msgspec.json.encode(told), 6)) / 1e3
    yield line(f"{what}: what is taken along, compressed", size, "kB", "reported")


def _rested(page: Page) -> Iterator[str]:
    """The first answer after a moment at rest, and at once after a load, over fresh loads."""
    source = parse_job("family: front_load\nreported: [wont_drain]\nwhere: site\n")
    told = pocket_of(source, knowledge_of(source.job))
    told = {"version": VERSION, "ready": True, "why": "", "job": "made-job", **told}
    for what, rounds, most in (
        ("after a rest", ROUNDS, None),
        (f"at once, over {AT_ONCE} sets", 0, AT_ONCE),
    ):
        times: list[float] = []
        for _ in range(LOADS):
            _served(page, told)
            times.append(page.evaluate(RESTED, [static_path("belief.js"), rounds, TIME, most]))
        label = f"first answer {what}, of {LOADS} fresh loads"
        yield line(f"{label}: median", sorted(times)[LOADS // 2], "ms", "<= 300 ms")
        yield line(f"{label}: worst", max(times), "ms", "<= 300 ms")


def _in_browser(page: Page, told: dict[str, Any]) -> dict[str, float]:
    """Median times in the browser, slowed down."""
    _served(page, told)
    found: dict[str, float] = page.evaluate(TIMED, static_path("belief.js"))
    return found


def _served(page: Page, told: dict[str, Any]) -> None:
    """Load a fresh page that has our files and one job's numbers."""
    files = {static_path(name): name for name in STATIC}

    def answer(route: Route) -> None:
        path = route.request.url.removeprefix(ADDRESS)
        if path in files:
            route.fulfill(body=static_file(files[path]), content_type=STATIC[files[path]])
        elif path == "/pocket.json":
            route.fulfill(body=json.dumps(told), content_type="application/json")
        else:
            route.fulfill(body="<!doctype html>", content_type="text/html")

    page.unroute_all()
    page.route("**/*", answer)
    page.goto(f"{ADDRESS}/")


def _scripts() -> str:
    names = [name for name in STATIC if name == "belief.js" or name.startswith("pocket-")]
    size = sum(len(gzip.compress(static_file(name), 6)) for name in names) / 1e3
    return line("the phone's arithmetic, compressed", size, "kB", "reported")
