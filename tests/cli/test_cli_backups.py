"""Backups by command: a shop's data out, and back in."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from stores import Ticking
from tubside.cli import main
from tubside.service.authors import Author
from tubside.service.data_folder import default_folder, open_data
from tubside.service.jobs import job_view, new_job, record
from tubside.service.library import Library
from tubside.service.records import DangerTold


def test_out_and_back(tmp_path: Path, author: Author, clock: Ticking) -> None:
    """Tests that a job written after the backup is gone once that is restored, but kept aside."""
    data, file = tmp_path / "data", tmp_path / "kept.sqlite"
    store = open_data(data, clock)
    job = new_job(store, author, [DangerTold()])
    out = CliRunner().invoke(main, ["backup", str(file), "--data", str(data)])
    assert out.exit_code == 0, out.output
    assert "1 jobs, 1 facts, 0 photos" in out.output
    record(store, job, author, DangerTold(kinds=["smoke"]))
    busy = CliRunner().invoke(main, ["restore", str(file), "--data", str(data)])
    assert (busy.exit_code, "stop the server" in busy.output) == (2, True)
    store.close()
    back = CliRunner().invoke(main, ["restore", str(file), "--data", str(data)])
    assert back.exit_code == 0, back.output
    assert "before-restore" in back.output
    store = open_data(data, clock)
    assert job_view(store, Library(), job).dangers == ()
    store.close()


def test_models_out_and_back(tmp_path: Path, clock: Ticking) -> None:
    """Tests that models are counted, a strange file is named, and those replaced are told."""
    data, file = tmp_path / "data", tmp_path / "kept.sqlite"
    open_data(data, clock).close()
    (data / "models").mkdir()
    for name in ("mill-2.yaml", "mill-2.jpg", "notes.txt"):
        (data / "models" / name).write_text(name)
    out = CliRunner().invoke(main, ["backup", str(file), "--data", str(data)])
    assert out.exit_code == 0, out.output
    assert "0 photos, 1 models; read again" in out.output
    assert "not taken along, as it is no file of a model: 'notes.txt'" in out.output
    (data / "models" / "mill-2.yaml").write_text("changed")
    back = CliRunner().invoke(main, ["restore", str(file), "--data", str(data)])
    assert back.exit_code == 0, back.output
    assert "0 photos, 1 models from" in back.output
    assert (data / "models" / "mill-2.yaml").read_text() == "mill-2.yaml"
    (kept,) = data.glob("before-restore-*-models")
    assert f"the models there were before are in {kept}" in back.output
    assert (kept / "notes.txt").read_text() == "notes.txt"
    assert (kept / "mill-2.yaml").read_text() == "changed"


def test_a_backup_without_models(tmp_path: Path, clock: Ticking) -> None:
    """Tests that a backup made before models were taken along is told to leave them alone."""
    data, file = tmp_path / "data", tmp_path / "old.sqlite"
    open_data(data, clock).close()
    file.write_bytes((data / "tubside.sqlite").read_bytes())  # what a plain copy of it was
    (data / "models").mkdir()
    (data / "models" / "mill-2.yaml").write_text("mine")
    back = CliRunner().invoke(main, ["restore", str(file), "--data", str(data)])
    assert back.exit_code == 0, back.output
    assert "made without models; those that are there were left alone" in back.output
    assert (data / "models" / "mill-2.yaml").read_text() == "mine"


def test_your_own_data_folder(
    tmp_path: Path, clock: Ticking, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests that without a place named, the data folder of the user is copied."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert default_folder() == tmp_path / "tubside"
    open_data(default_folder(), clock).close()
    out = CliRunner().invoke(main, ["backup"])
    assert out.exit_code == 0, out.output
    assert len(list((tmp_path / "tubside" / "backups").iterdir())) == 1


def test_a_missing_backup(tmp_path: Path) -> None:
    """Tests that a name that leads nowhere gets a plain answer, and makes no data folder."""
    where = ["--data", str(tmp_path / "data")]
    out = CliRunner().invoke(main, ["restore", str(tmp_path / "none.sqlite"), *where])
    assert (out.exit_code, "there is no file" in out.output) == (2, True)
    assert not (tmp_path / "data").exists()


def test_no_data_to_back_up(tmp_path: Path) -> None:
    """Tests that a data folder misspelt is told, not made and copied empty."""
    out = CliRunner().invoke(main, ["backup", "--data", str(tmp_path / "dtaa")])
    assert (out.exit_code, "no data in" in out.output) == (2, True)
    assert not (tmp_path / "dtaa").exists()
