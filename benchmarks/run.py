"""All benchmarks, one after the other: ``make bench``. Never part of the tests."""

from __future__ import annotations

import os
import platform
from importlib import import_module

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command line does
PARTS = (
    "startup",
    "belief_update",
    "next_step",
    "readings",
    "accounts",
    "job_page",
    "shop_figures",
    "syncing",
    "offline_step",
    "job_plan",
    "day",
    "kit",
    "typesetting",
    "moving",
    "policies",
    "simulated_cycles",
    "learning",
    "sound",
    "shake",
)


def main() -> None:
    """Print every row as it is measured."""
    print(f"Python {platform.python_version()} on {platform.machine()}; medians")
    for part in PARTS:
        print(f"\n{part}")
        for row in import_module(part).report():
            print(row, flush=True)


if __name__ == "__main__":
    main()
