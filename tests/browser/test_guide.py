"""The guide opened from a folder: readable for all, and its short text is what was tapped."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser, Page

from guides import small_library
from tubside.guide.building import Front, build
from tubside.guide.languages import language_of
from tubside.service.library import Library
from tubside.service.short_text import decoded
from walking import AXE, RULES

pytestmark = pytest.mark.browser
PAGES = ("index", "stop", "fails", "rules", "kind-small-pack", "kind-small-pack-wont-drain")


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Library:
    """One small family."""
    return small_library(tmp_path_factory.mktemp("packs"))


@pytest.fixture(scope="module", params=["en", "ar-XB"])
def guide(
    request: pytest.FixtureRequest, library: Library, tmp_path_factory: pytest.TempPathFactory
) -> Path:
    """A guide of it, in English and from right to left."""
    folder = tmp_path_factory.mktemp("guide") / "out"
    build(folder, library, Front("A shop", "01632 960100", "NZ"), language_of(request.param))
    return folder


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A guide of all that is shipped."""
    folder = tmp_path_factory.mktemp("whole") / "out"
    build(folder, Library(), Front("A shop", "01632 960100", "NZ"))
    return folder


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    """A narrow page without signal."""
    opened = chromium.new_page(viewport={"width": 320, "height": 700}, color_scheme="dark")
    opened.context.set_offline(True)
    yield opened
    opened.close()


def test_pages_are_readable(page: Page, guide: Path) -> None:
    """Tests width and WCAG 2.2 AA of each kind of page, and that nothing was refused."""
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    for name in PAGES:
        page.goto(f"file://{guide}/{name}.html")
        assert page.evaluate("document.documentElement.scrollWidth") <= 320, name
        assert said == [], name
        found = AXE.run(page, options={"runOnly": RULES, "resultTypes": ["violations"]})
        assert found.response["violations"] == [], name
        said.clear()  # what axe asked for itself


@pytest.mark.soak
@pytest.mark.parametrize(("width", "scheme"), [(320, "dark"), (1280, "light")])
def test_every_page_of_every_family(
    chromium: Browser, whole: Path, width: int, scheme: Literal["dark", "light"]
) -> None:
    """Tests the same of all pages about what is shipped, narrow and wide, dark and light."""
    page = chromium.new_page(viewport={"width": width, "height": 800}, color_scheme=scheme)
    wrong = []
    for file in sorted(whole.glob("*.html")):
        page.goto(f"file://{file}")
        if page.evaluate("document.documentElement.scrollWidth") > width:
            wrong.append(f"{file.name} is too wide")
        found = AXE.run(page, options={"runOnly": RULES, "resultTypes": ["violations"]})
        wrong += [f"{file.name}: {one['id']}" for one in found.response["violations"]]
    page.close()
    assert wrong == []


def test_what_is_tapped_is_what_is_read(page: Page, guide: Path, library: Library) -> None:
    """Tests that the text of the page says, on the job's side, the trouble and each answer."""
    page.goto(f"file://{guide}/kind-small-pack-wont-drain.html")
    steps = page.locator("li.step:not(.step--aside)")
    tapped = []
    for number in range(2):
        step = steps.nth(number)
        step.locator(".answer[data-number]").last.click()
        tapped.append((step.get_attribute("data-kind"), step.get_attribute("data-name")))
    text = page.locator("#short-text").text_content()
    assert text
    told = decoded(library, text)
    assert (told.family, told.model) == ("small_pack", None)
    assert ("danger", "none", "") in told.items
    assert ("condition", "wont_drain", "") in told.items
    assert [one[:2] for one in told.items if one[0] in {"check", "remedy"}] == tapped
    steps.nth(0).locator(".answer[data-number]").first.click()
    again = decoded(library, page.locator("#short-text").text_content() or "")
    assert sum(one[:2] == tapped[0] for one in again.items) == 1


def test_without_a_script_letters_are_read_out(chromium: Browser, guide: Path) -> None:
    """Tests that each answer has its letters and leads on, and that no empty text is shown."""
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"file://{guide}/kind-small-pack-wont-drain.html")
    assert not page.locator("#text").is_visible()
    letters = page.locator("li.step").first.locator(".letters").all_text_contents()
    assert letters[:2] == ["1A", "1B"]
    page.locator("li.step").first.locator("a.answer").first.click()
    assert "#" in page.url
    context.close()
