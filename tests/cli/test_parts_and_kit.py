"""Tests of ``tubside parts`` and ``tubside kit``."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

from click.testing import CliRunner, Result

from tubside.cli import main
from tubside.service.authors import Author
from tubside.service.data_folder import open_data
from tubside.service.jobs import new_job
from tubside.service.records import Body, Machine, Reported, Visit

LIST = (
    "number,title,kinds,supplier,price,lead_days,place,units\n"
    "DP-1,Drain pump,front_load/drain-pump,Fenn Parts,24.50,2,workshop,2\n"
)


def run(folder: Path, *words: str) -> Result:
    """Run the command on a shop's data."""
    return CliRunner().invoke(main, [*words, "--data", str(folder)])


def test_parts_on_the_command_line(tmp_path: Path) -> None:
    """Tests a dry run, a list brought in, a search, a movement and an order."""
    file, shop = tmp_path / "list.csv", tmp_path / "shop"
    file.write_text(LIST, encoding="utf-8")
    assert "nothing was kept" in run(shop, "parts", "bring-in", str(file), "--dry-run").output
    assert "no such part" in run(shop, "parts", "list").output
    assert "1 new parts" in run(shop, "parts", "bring-in", str(file)).output
    assert "workshop 2  24.50 Fenn Parts" in run(shop, "parts", "list", "pump").output
    loaded = ("parts", "move", "DP-1", "1", "--from", "workshop", "--to", "van:ida")
    assert "movement 2" in run(shop, *loaded, "--reason", "loaded").output
    refused = run(shop, *loaded[:3], "9", *loaded[4:], "--reason", "loaded")
    assert refused.exit_code == 2
    assert "say why" in refused.output
    assert "in all" in run(shop, "parts", "order").output
    assert run(shop, "parts", "order", "--csv").output.startswith("number,title")
    file.write_text("number,title\nA,\n", encoding="utf-8")
    wrong = run(shop, "parts", "bring-in", str(file))
    assert wrong.exit_code == 2
    assert "list.csv:2:" in wrong.output


def test_the_kit_of_a_day(tmp_path: Path) -> None:
    """Tests that the kit names the part to load, its share, and what is proven."""
    file, shop = tmp_path / "list.csv", tmp_path / "shop"
    assert "No visit is booked" in run(shop, "kit", "2026-03-04").output
    file.write_text(LIST, encoding="utf-8")
    run(shop, "parts", "bring-in", str(file))
    noon = datetime(2026, 3, 4, 12, 0, tzinfo=UTC)
    store, ids = open_data(shop, lambda: noon), iter(f"fact-{n:05}" for n in range(99))
    visit = Visit(status="booked", arrive_from=noon, arrive_until=noon.replace(hour=13))
    facts: list[Body] = [Machine(family="front_load"), Reported(conditions=["wont_drain"]), visit]
    new_job(store, Author("server", lambda: noon, ids.__next__), facts)
    store.close()
    told = run(shop, "kit", "2026-03-04", "--van", "ida").output
    assert "Kit for Wednesday, 4 March 2026, van ida" in told
    assert "1 x Drain pump (DP-1)" in told
    assert "of Wednesday's jobs" in told
    assert "A second trip costs " in told
    assert re.search(r"DP-1.*; saves [\d.]+ dollars, costs [\d.]+ dollars to carry", told)
    assert "more)" in told
