"""The safety test told without signal: kept, proven by nobody, and judged once it is sent."""

from __future__ import annotations

import json

import pytest
from playwright.sync_api import Browser, Page, expect

from phones import all_sent, call, kept_in, phone_of, send
from served import Served
from walking import reading_of

pytestmark = pytest.mark.browser
METER = {"instrument": "bench tester 7", "calibrated": "2000-01-01", "due": "2100-01-01"}
WASHER = {"do": "appliance", "protection": "I", "heater_kw": "2", "cord_m": "1.5", "cord_mm2": "1"}


def read(page: Page, test: str, value: str) -> None:
    """Fill in the reading of a test, tick what can hurt, and keep it."""
    form = page.locator(f"#test-{test}")
    for box in form.locator("[name=caution]").all():
        box.check()
    for name, told in {"value": value, "uncertainty": "0,02", **METER}.items():
        form.locator(f"[name={name}]").fill(told)
    with page.expect_navigation():
        form.get_by_role("button", name="Keep the reading").click()


def test_tests_told_without_signal(chromium: Browser, shop: Served) -> None:
    """Tests a reading and looks told offline: no verdict, unsafe at once, the rest when sent."""
    context = phone_of(chromium)
    page = context.new_page()
    send(page, f"{shop.address}/safety", {"do": "country", "country": "NZ"})
    job = call(page, shop.address)
    here = f"{shop.address}{job}/safety"
    send(page, here, {"do": "touched", "what": "cord-or-plug"})
    send(page, here, WASHER)
    page.goto(here)
    context.set_offline(True)
    read(page, "insulation", "48")
    waits = page.locator("#test-insulation [data-waits]")
    expect(waits).to_contain_text("48 ± 0.02 MΩ: not proven until sent")
    expect(page.locator("#unproven")).to_be_visible()
    expect(page.locator("#safety")).not_to_contain_text("Unsafe: do this now")
    with page.expect_navigation():
        page.click("#test-polarity >> text=It is not right")
    expect(page.locator("#safety")).to_contain_text("Unsafe: do this now")
    expect(page.locator("#unsent")).to_contain_text("2 facts not yet sent")
    assert reading_of(page) == []
    page.fill("[name=tester]", "Ada Quill")
    with page.expect_navigation():
        page.click("text=Not released: I disabled and marked it")
    expect(page.locator("h1")).to_have_text("This needs signal")
    page.goto(here)
    context.set_offline(False)
    all_sent(page)
    expect(page.locator("#test-insulation .reads").last).to_contain_text("48 ± 0.02 MΩ")
    expect(page.locator("#safety")).to_contain_text("Unsafe: do this now")
    bodies = [json.loads(body) for _, where, body in kept_in(shop.data) if f"/jobs/{where}" == job]
    assert {"kind": "safety-look", "test": "polarity", "outcome": "fail"} in bodies
    told = {"test": "insulation", "value": 48, "uncertainty": 0.02, **METER}
    assert {"kind": "safety-reading", **told} in bodies
    assert {"kind": "caution", "caution": "safety-test", "step": "insulation"} in bodies
    context.close()
