"""What a national organisation asks: ten million closed jobs counted, with a third of them too."""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from timing import line

MILLIONS = (1, 3, 10)
THREADS = 2
SYNTHETIC = """
COPY (
  WITH drawn AS (
    SELECT i, hash(i, 1) % 1000000 / 1e6 AS u, hash(i, 2) % 1000000 / 1e6 AS v,
           hash(i, 3) % 1000000 / 1e6 AS w, CAST(hash(i, 4) % 4 AS INTEGER) AS f,
           CAST(floor(25 * pow(hash(i, 5) % 1000000 / 1e6, 2)) AS INTEGER) AS c
    FROM range(?, ?) AS made(i)
  ),
  told AS (SELECT *, c % 8 + 1 AS k, (c + 1 + hash(i, 6) % 3) % 25 AS d FROM drawn)
  SELECT printf('job-%d', i) AS job,
         CAST(DATE '2016-01-01' + CAST(hash(i, 7) % 3650 AS INTEGER) AS VARCHAR) AS closed,
         ['top_load', 'front_load', 'dryer', 'dishwasher'][f + 1] AS family,
         printf('model-%d', 3 * f + hash(i, 8) % 3) AS model,
         printf('shop-%d', hash(i, 9) % 5) AS shop,
         printf('complaint-%d', (c + hash(i, 10) % 2) % 10) AS complaint,
         CASE WHEN u < 0.7 THEN format('{:.1f}', 20 * v) ELSE '' END AS age_years,
         CASE WHEN w < 0.85 THEN printf('cause-%d=1', c)
              ELSE printf('cause-%d=%.6f;cause-%d=%.6f', c, 0.5 + 0.4 * u, d, 0.0999 - 0.0999 * u)
         END AS causes,
         CASE WHEN w < 0.85 THEN '0' ELSE format('{:.6f}', 0.1 * v) END AS several,
         CASE WHEN w < 0.4 THEN 're-run' WHEN w < 0.6 THEN 'seen' WHEN w < 0.7 THEN 'measured'
              WHEN w < 0.85 THEN 'remedy-worked' ELSE 'not-confirmed' END AS sure,
         printf('check-%d=out-%d@customer;check-%d=out-%d@technician;check-%d=out-%d@technician',
                k, hash(i, 11) % 4, k + 5, hash(i, 12) % 4, k + 9, hash(i, 13) % 4) AS checks,
         CASE WHEN w > 0.4 AND w < 0.7 THEN printf('check-%d', k + 9) ELSE '' END AS decided,
         CASE WHEN u < 0.2 THEN printf('remedy-%d=no;remedy-%d=yes', d, c + 25)
              ELSE printf('remedy-%d=yes', c + 25) END AS remedies,
         printf('check-%d=%d;check-%d=%d;remedy-%d=%d', k + 5, 1 + hash(i, 14) % 20,
                k + 9, 1 + hash(i, 15) % 20, c + 25, 5 * (1 + hash(i, 16) % 20)) AS minutes,
         CASE WHEN v < 0.5 THEN printf('part-%d=%d', c, 1500 + 50 * (hash(i, 17) % 60))
              ELSE '' END AS prices,
         CASE WHEN v > 0.85 THEN 'yes' ELSE 'no' END AS by_phone,
         CASE WHEN u > 0.96 THEN printf('job-%d', i - 1) ELSE '' END AS callback_of
  FROM told
) TO '{}' (FORMAT parquet)
"""
"""Invented jobs: four families, three models of each, five shops, 25 causes, ten years."""


def report() -> Iterator[str]:
    """Seconds and memory to count one, three and ten million jobs in Parquet."""
    with tempfile.TemporaryDirectory() as folder:
        for millions in MILLIONS:
            file = Path(folder) / f"{millions}.parquet"
            write_synthetic(file, millions * 1_000_000)
            wall, used, most, keys = counted_alone(file)
            what = f"{millions} million closed jobs counted by {THREADS} threads"
            aim = "<= 30 s" if millions == max(MILLIONS) else "in step"
            yield line(what, wall, "s", aim, f"CPU {used:.1f} s, {keys} keys")
            yield line(f"{millions} million: most memory held", most, "GB", "<= 4 GB")


def write_synthetic(file: Path, jobs: int) -> None:
    """Make a table of invented closed jobs."""
    import duckdb  # noqa: PLC0415  # an extra

    with duckdb.connect(config={"threads": str(THREADS), "memory_limit": "2GB"}) as opened:
        opened.execute(SYNTHETIC.replace("?, ?", f"0, {jobs}").replace("{}'", f"{file}'"))


def counted_alone(file: Path) -> tuple[float, float, float, int]:
    """Wall and CPU time [s], most memory [GB] and keys of one table, in a process of its own."""
    order = [sys.executable, __file__, str(file)]
    found = subprocess.run(order, check=True, capture_output=True, text=True)  # noqa: S603  # itself
    wall, used, most, keys = found.stdout.split()
    return float(wall), float(used), float(most), int(keys)


def _count(file: Path) -> None:
    from tubside.learning.from_tables import counts_of_tables  # noqa: PLC0415  # the child's work

    start = time.perf_counter()
    found = counts_of_tables([file], threads=THREADS)
    wall = time.perf_counter() - start
    used = resource.getrusage(resource.RUSAGE_SELF)
    print(wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1e6, len(found.by_key))


if __name__ == "__main__":
    if len(sys.argv) > 1:
        _count(Path(sys.argv[1]))
    else:
        for row in report():
            print(row, flush=True)
