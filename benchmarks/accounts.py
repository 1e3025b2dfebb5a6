"""The packs on real repairs, account by account (tests/accounts)."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

from timing import line

sys.path.insert(0, str(Path(__file__).parent.parent / "tests"))


def report() -> Iterator[str]:
    """Rows by family, then the accounts that were missed."""
    test = import_module("test_accounts")
    for family in ("top_load", "front_load"):
        source = test.read_file(test.FOLDER / f"{family}.yaml")
        found = [test.scores(account) for account in test.convert(source, list[test.Account])]
        hits = sum(one.among_three for one in found)
        yield line(
            f"{family}: true cause among the first three",
            100 * hits / len(found),
            "%",
            ">= 85 %",
            f"{hits} of {len(found)}",
        )
        told = sum(one.log_score for one in found) / len(found)
        alone = sum(one.complaint_log_score for one in found) / len(found)
        yield line(
            f"{family}: mean log score with the facts told",
            told,
            "nat",
            "reported",
            f"from the complaint alone {alone:.2f}",
        )
        yield f"  missed: {', '.join(one.id for one in found if not one.among_three)}"
