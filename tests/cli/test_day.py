"""Tests of ``tubside day``."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from click.testing import CliRunner

from tubside.cli import main
from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.jobs import new_job
from tubside.service.records import Visit
from tubside.service.visits.settings import TechnicianSetting, keep_technician


def test_the_day_on_the_command_line(tmp_path: Path) -> None:
    """Tests a day without hours refused, and one visit told with window and chance."""
    words = ["day", "2099-03-04", "--data", str(tmp_path)]
    store = open_data(tmp_path, lambda: datetime.now(UTC))
    refused = CliRunner().invoke(main, words)
    assert refused.exit_code == 2
    assert "hours" in refused.output
    keep_technician(store, "ida", TechnicianSetting(start="52.1, 0.25"))
    ids = iter(f"fresh-{n:05}" for n in range(9))
    author = Author("server", lambda: datetime.now(UTC), lambda: next(ids))
    begin = datetime(2099, 3, 4, 9).astimezone()
    end = begin.replace(hour=11)
    new_job(store, author, [Visit(status="booked", arrive_from=begin, arrive_until=end)])
    store.close()
    told = CliRunner().invoke(main, words).output
    assert "promised 09:00 to 11:00, late 0%" in told
    assert "ida: " in told
    assert "Nobody knows where" in told
