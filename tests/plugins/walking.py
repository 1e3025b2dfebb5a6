"""A whole job in a browser, by finger or by keyboard, with what must hold of every page."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from axe_playwright_python.sync_playwright import Axe  # type: ignore[import-untyped]
from playwright.sync_api import Locator, Page

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
AXE = Axe()
SMALL = """() => [...document.querySelectorAll(
  'button, summary, a.main-act, a.second-act, a.sign-act, .top a, select, textarea,' +
  'input:not([type=hidden])')]
  .filter((it) => it.checkVisibility() && !it.closest('.unseen, .skip'))
  .map((it) => [it, (it.closest('label') || it).getBoundingClientRect()])
  .filter(([it, box]) => box.height > 0 && (box.width < 47.5 || box.height <
    (it.matches('.outcome') ? 67.5 : 47.5)))
  .map(([it, box]) => `${it.outerHTML.slice(0, 90)} ${box.width}x${box.height}`)"""
WIDE = """() => document.documentElement.scrollWidth <= innerWidth ? [] :
  [...document.querySelectorAll('body *')]
  .filter((it) => it.getBoundingClientRect().right > innerWidth + 1)
  .map((it) => it.outerHTML.slice(0, 120)).slice(0, 5)
  .concat(`${document.documentElement.scrollWidth} > ${innerWidth}`)"""
LEADS_ON = "(it) => it.matches('a, button') && !it.closest('tap-panel')"
UNTIL_REACHED = 150


def reading_of(page: Page, *, by_axe: bool = True) -> list[str]:
    """What is wrong with a page: too wide, too small to tap, or against WCAG 2.2 AA."""
    page.wait_for_load_state("domcontentloaded")
    wrong = [f"too wide: {one}" for one in page.evaluate(WIDE)]
    wrong += [f"too small: {one}" for one in page.evaluate(SMALL)]
    if by_axe:
        page.evaluate("scrollTo(0, document.body.scrollHeight)")  # off what sticks to the edge
        options = {"runOnly": RULES, "resultTypes": ["violations"]}
        for rule in AXE.run(page, options=options).response["violations"]:
            nodes = "; ".join(node["html"][:120] for node in rule["nodes"][:3])
            wrong.append(f"axe {rule['id']}: {nodes}")
    return [f"{page.title()}: {one}" for one in wrong]


def tapped(page: Page, css: str) -> None:
    """Tap what leads to another page, and wait for that page: a click alone may still show this."""
    with page.expect_navigation():
        page.click(css)


def by_finger(page: Page, target: Locator) -> None:
    """Tap it."""
    if target.evaluate(LEADS_ON):
        with page.expect_navigation():
            target.click()
    else:
        target.click()


def by_keyboard(page: Page, target: Locator) -> None:
    """Go to it with the tab key, and press it."""
    wanted = target.element_handle()
    for _ in range(UNTIL_REACHED):
        page.keyboard.press("Tab")
        if page.evaluate("(it) => document.activeElement === it", wanted):
            break
    else:
        msg = f"the keyboard does not reach {target}"
        raise AssertionError(msg)
    if page.evaluate(LEADS_ON, wanted):
        with page.expect_navigation():
            page.keyboard.press("Enter")
    else:
        page.keyboard.press("Space")


@dataclass
class Walk:
    """A page, how it is pressed, and what was found wrong on the way."""

    page: Page
    address: str
    press_one: Callable[[Page, Locator], None] = by_finger
    by_axe: bool = True
    taps: int = 0
    wrong: list[str] = field(default_factory=list)

    def press(self, css: str, nth: int = 0, text: str | None = None) -> None:
        """Press the nth element of a selector that is shown, and wait for the page."""
        target = self.page.locator(css, has_text=text).filter(visible=True).nth(nth)
        target.wait_for()
        self.press_one(self.page, target)
        self.taps += 1
        self.page.wait_for_load_state()

    def look(self) -> None:
        """Hold the page against what must hold of every page."""
        self.wrong += [
            one for one in reading_of(self.page, by_axe=self.by_axe) if one not in self.wrong
        ]

    def call(self, blinks: int = 3) -> None:
        """Take a call until the first advice: a machine whose panel blinks."""
        self.page.goto(f"{self.address}/")
        self.look()
        self.press(".top a[href='/call']")
        self.look()
        self.press("button[name=danger][value=none]")
        self.look()
        self.press("button[value='model:aldermoor-tern']")
        self.look()
        self.press("a.main-act[href$='/panel']")
        self.look()
        self.press(f".key[value='pause:{blinks} blinks']")
        self.press("button[name=keep]")
        self.page.locator("#step").wait_for()
        self.look()

    def answer(self, outcome: int = 0) -> None:
        """Tick each caution of the step, and tell an outcome."""
        for nth in range(self.page.locator("#step .caution input").count()):
            self.press("#step .caution input", nth)
        self.press("#step .outcome", outcome)
        self.look()

    def book(self) -> None:
        """Book the visit, with the consent to the fee."""
        if self.page.locator("#step input[name=fee]").count() == 0:
            self.press("summary", text="Visit")
        fee = self.page.locator("input[name=fee]").filter(visible=True)
        fee.fill("85")
        self.press("input[name=agreed]")
        self.press("button[value=book]")
        self.look()

    def close(self) -> None:
        """Close the job with its likeliest cause."""
        self.press("a[href$='/closing']")
        self.look()
        self.press("input[name=cause]")
        self.press("input[name=confirmed_by]")
        self.press("button.main-act", text="Close the job")
        self.look()

    def whole_job(self) -> None:
        """From the ring of the telephone to the closing."""
        self.call()
        self.answer()
        self.book()
        self.press("button[value=arrive]")
        self.look()
        self.answer()
        self.close()
