"""Tests of the commands that say who may log in."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from asking import CHEAP, PASSWORD
from tubside.cli import app_extra, main
from tubside.service import logins
from tubside.service.data_folder import open_data
from tubside.service.knocking import Knock, log_in
from tubside.store.opening import Store

NOW = datetime.now(UTC)


@pytest.fixture(autouse=True)
def cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hash with little work."""
    for function in (logins.add_user, logins.change_password):
        monkeypatch.setattr(function, "__defaults__", (CHEAP.hasher,))


def run(folder: Path, *words: str, typed: str | None = None) -> Result:
    """Run ``tubside user`` on the data in a folder."""
    return CliRunner().invoke(main, ["user", *words, "--data", str(folder)], input=typed)


def opened(folder: Path) -> Store:
    """Return the data in a folder, to be closed."""
    return open_data(folder, lambda: datetime.now(UTC))


def test_a_password_is_asked_for_and_not_shown(tmp_path: Path) -> None:
    """Tests that a typed password is taken and does not come back on the screen."""
    done = run(tmp_path, "add", "edith", typed=f"{PASSWORD}\n{PASSWORD}\n")
    assert done.exit_code == 0, done.output
    assert PASSWORD not in done.output
    store = opened(tmp_path)
    assert log_in(store, Knock("edith", PASSWORD, "127.0.0.1"), NOW, CHEAP)
    store.close()


def test_a_password_from_a_file(tmp_path: Path) -> None:
    """Tests that the first line of a file is the password, and the role is kept."""
    file = tmp_path / "password"
    file.write_text(f"{PASSWORD}\nsomething else\n", encoding="utf-8")
    run(tmp_path, "add", "desk", "--role", "office", "--password-file", str(file))
    assert "desk  office" in run(tmp_path, "list").output


def test_sessions_are_listed_and_ended(tmp_path: Path) -> None:
    """Tests that the list names the device, and that ended sessions are gone."""
    run(tmp_path, "add", "edith", "--password-file", "-", typed=PASSWORD)
    store = opened(tmp_path)
    log_in(store, Knock("edith", PASSWORD, "127.0.0.1", "a red phone"), NOW, CHEAP)
    store.close()
    assert "a red phone" in run(tmp_path, "list").output
    assert "1 session of edith ended" in run(tmp_path, "end-sessions", "edith").output
    assert "a red phone" not in run(tmp_path, "list").output
    new = run(tmp_path, "password", "edith", "--password-file", "-", typed="other words for it")
    assert "0 sessions ended" in new.output
    assert run(tmp_path, "remove", "edith").exit_code == 0
    assert "There is no account" in run(tmp_path, "list").output


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["add", "edith", "--password-file", "-"], "12 to 256 characters"),
        (["add", "No Name", "--password-file", "-"], "cannot be a name"),
        (["end-sessions", "nobody"], "no account 'nobody'"),
        (["remove", "nobody"], "no account 'nobody'"),
    ],
)
def test_mistakes_are_told(tmp_path: Path, words: list[str], told: str) -> None:
    """Tests that a mistake is told in words, with exit code 2."""
    done = run(tmp_path, *words, typed="short")
    assert (done.exit_code, told in done.output) == (2, True), done.output


def test_missing_packages_are_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that without the packages of the pages it says what to install."""
    monkeypatch.setattr(app_extra, "NEEDED", ("no_such_package",))
    done = run(tmp_path, "list")
    assert (done.exit_code, "tubside[app]" in done.output) == (2, True)
