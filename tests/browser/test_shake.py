"""The tub pushed beside a phone: its own sensor feels it, and the number goes on the line."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Page

from made_shakes import Phone, Tub, pushed
from served import Served
from walking import Walk, reading_of

pytestmark = pytest.mark.browser
HERTZ, RATIO = 2.5, 0.08
SHAKEN = """([hertz, ratio]) => {
  const begun = performance.now(), sigma = 2 * Math.PI * hertz * ratio;
  window.shaking = setInterval(() => {
    const t = (performance.now() - begun) / 1000 - 2.6;
    const hand = t > -0.4 && t < 0 ? 2 * Math.sin(Math.PI * (t + 0.4) / 0.4) : 0;
    const swing = t < 0 ? hand : 6 * Math.exp(-sigma * t) * Math.cos(2 * Math.PI * hertz * t);
    const noise = () => 0.08 * (Math.random() + Math.random() - 1);
    const felt = { x: noise(), y: 0.3 * swing + noise(), z: 9.81 + swing + noise() };
    dispatchEvent(new DeviceMotionEvent("devicemotion", { accelerationIncludingGravity: felt }));
  }, 12);
}"""
"""Motion of a phone on a tub that is pushed 2.6 s from now, as its browser would tell it."""


def at_the_machine(chromium: Browser, shop: Served, *, scripted: bool = True) -> tuple[Page, str]:
    """A front-loader's job on site, on a phone; the job's address."""
    context = chromium.new_context(
        viewport={"width": 390, "height": 800}, java_script_enabled=scripted
    )
    page = context.new_page()
    page.set_default_timeout(30_000)
    walk = Walk(page, shop.address, by_axe=False)
    page.goto(f"{shop.address}/call")
    walk.press("button[name=danger][value=none]")
    walk.press("button[value='family:front_load']")
    walk.press("button[name=first][value=wont_drain]")
    page.locator("#step").wait_for()
    job = page.url.partition("#")[0]
    walk.press("button[name=do][value=arrive]")
    return page, job


def ticked(page: Page) -> None:
    """Tick each caution."""
    for box in page.locator(".caution input").all():
        box.check()


def test_the_phone_feels_a_push(chromium: Browser, shop: Served) -> None:
    """Tests sensor, countdown, live trace, upload, answer and the reading, in a real browser."""
    page, job = at_the_machine(chromium, shop)
    page.goto(f"{job}/steps/bounce")
    page.click("a[href$='/shake']")
    record = page.locator("shake-log button")
    assert record.inner_text() == "Record with this phone"
    record.click()
    assert page.locator("shake-log svg").count() == 0  # held back until the cautions are ticked
    ticked(page)
    assert reading_of(page) == []
    quick = "(it) => { it.dataset.layDown = 1; it.dataset.feel = 6; }"
    page.locator("shake-log").evaluate(quick)
    page.evaluate(SHAKEN, [HERTZ, RATIO])
    record.click()
    page.locator("shake-log polyline[points*=' ']").first.wait_for(state="attached")
    page.wait_for_url("**/shake/*")
    count = float(page.inner_text("h1").split()[0])
    true = math.log(10.0) * math.sqrt(1.0 - RATIO**2) / (2.0 * math.pi * RATIO)
    assert count == pytest.approx(true, abs=0.4)
    assert page.locator("svg.chart .cv-0").count() == 1
    assert reading_of(page) == []
    page.click("button[value=use]")
    page.wait_for_url("**#after")
    assert f"Bounces of the tub: {count:g}" in page.inner_text("#line")
    assert page.locator("#after .plumb").count() == 1


def test_without_a_sensor_and_without_a_script_a_file_does(
    chromium: Browser, shop: Served, tmp_path: Path
) -> None:
    """Tests that no sensor is said plainly, and that the form alone reads a log and erases it."""
    page, job = at_the_machine(chromium, shop)
    page.goto(f"{job}/shake")
    ticked(page)
    page.click("shake-log button")
    page.get_by_text("No sensor answers here").wait_for()
    plain, job = at_the_machine(chromium, shop, scripted=False)
    log = tmp_path / "push.txt"
    made = pushed(np.random.default_rng(7), Tub(3.0, 0.1), Phone(snr_db=28.0))
    log.write_bytes(made.csv("t,x,y,z", "\t"))
    plain.goto(f"{job}/shake")
    ticked(plain)
    plain.set_input_files("input[type=file]", log)
    plain.click("button:has-text('Read the file')")
    plain.wait_for_url("**/shake/*")
    assert float(plain.inner_text("h1").split()[0]) == pytest.approx(made.bounces, abs=0.4)
    plain.click("summary")
    plain.click("button[value=erase]")
    plain.wait_for_url("**/shake")
    assert plain.get_by_text("Logs of this job").count() == 0
