"""Pytest plugin: say at the end which tests were skipped, and what was lacking.

A test that needs the browser must not be skipped unnoticed where changes are
checked: with ``CI=true`` such a skip is a failure.
"""

from __future__ import annotations

import os
from collections.abc import Generator
from pathlib import Path
from typing import cast

import pytest


def reason(report: pytest.TestReport | pytest.CollectReport) -> str:
    """Return why a test was skipped, without pytest's prefix."""
    if isinstance(report.longrepr, tuple):
        return str(report.longrepr[2]).removeprefix("Skipped: ")
    return str(report.longrepr)


def skipped_lines(reports: list[pytest.TestReport | pytest.CollectReport]) -> list[str]:
    """Return one line for each skipped test: its name and what was lacking."""
    return sorted(f"{report.nodeid}: {reason(report)}" for report in reports)


def must_run(*, browser: bool) -> bool:
    """Tell whether a skip counts as a failure: a browser test in CI."""
    return browser and os.environ.get("CI") == "true"


def fail_skip(report: pytest.TestReport | pytest.CollectReport) -> None:
    """Turn a skipped report into a failed one that says why."""
    told = f"skipped in CI, where browser tests must run: {reason(report)}"
    report.outcome = "failed"
    report.longrepr = told


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item,
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Fail a browser test that was skipped in CI."""
    report = yield
    browser = item.get_closest_marker("browser") is not None
    if report.skipped and not hasattr(report, "wasxfail") and must_run(browser=browser):
        fail_skip(report)
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(
    collector: pytest.Collector,
) -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """Fail a whole file of browser tests that was skipped in CI."""
    report = yield
    browser = "browser" in Path(collector.nodeid).parts
    if report.skipped and must_run(browser=browser):
        fail_skip(report)
    return report


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """List the skipped tests by name, counted, before the last line."""
    reports = cast(
        "list[pytest.TestReport | pytest.CollectReport]",
        terminalreporter.stats.get("skipped", []),
    )
    if not reports:
        return
    terminalreporter.section(f"skipped: {len(reports)}")
    for line in skipped_lines(reports):
        terminalreporter.write_line(line)
