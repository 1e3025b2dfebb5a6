"""Tests of the closing list of skipped tests."""

from __future__ import annotations

import pytest

pytest_plugins = ["pytester"]

TWO_SKIPS = """
    import pytest

    @pytest.mark.skip(reason="no oracle here")
    def test_lacking(): pass

    @pytest.mark.browser
    def test_page():
        pytest.skip("no chromium here")

    def test_fine(): pass
"""


@pytest.fixture
def suite(pytester: pytest.Pytester) -> pytest.Pytester:
    """Return a small suite with two skipped tests and one that passes."""
    pytester.makeini("[pytest]\nmarkers = browser")
    pytester.makepyfile(test_small=TWO_SKIPS)
    return pytester


def test_skips_are_named(suite: pytest.Pytester, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that every skip is listed with name and reason, before pytest's own last line."""
    monkeypatch.delenv("CI", raising=False)
    result = suite.runpytest("-p", "skips")
    result.stdout.fnmatch_lines(
        [
            "*skipped: 2*",
            "test_small.py::test_lacking: no oracle here",
            "test_small.py::test_page: no chromium here",
        ]
    )
    assert "1 passed, 2 skipped" in result.outlines[-1]


def test_browser_skip_fails_in_ci(suite: pytest.Pytester, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that CI fails a skipped browser test, and only that one."""
    monkeypatch.setenv("CI", "true")
    result = suite.runpytest("-p", "skips")
    result.assert_outcomes(passed=1, skipped=1, failed=1)
    result.stdout.fnmatch_lines(["*browser tests must run: no chromium here*"])


def test_browser_file_skip_fails_in_ci(
    suite: pytest.Pytester, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests that CI fails when a whole file of the browser folder is skipped."""
    monkeypatch.setenv("CI", "true")
    folder = suite.mkdir("browser")
    (folder / "test_pages.py").write_text(
        "import pytest\npytest.skip('no browser', allow_module_level=True)\n", encoding="utf-8"
    )
    result = suite.runpytest("-p", "skips", "browser")
    result.assert_outcomes(errors=1)
