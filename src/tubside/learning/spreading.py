"""Heavy work shared out: here, over processes of this machine, or over a Dask cluster.

Whoever works takes any :class:`concurrent.futures.Executor` and hands it batches whose results
add up in any order, so that the result is the same wherever it was worked out. Dask's
scheduler gives the batches of a worker that died to another one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TypeVar

from tubside.learning.cluster import cluster_at
from tubside.learning.counts import Counts, merged
from tubside.learning.from_tables import counts_of_tables

Batch = TypeVar("Batch")
Result = TypeVar("Result")


@contextmanager
def sharing(workers: int = 1, scheduler: str | None = None) -> Iterator[Executor | None]:
    """Whom to hand batches to; None where one process does all.

    Parameters
    ----------
    workers : int
        Processes of this machine; not heeded where a scheduler is named.
    scheduler : str, optional
        Address of a Dask scheduler, such as ``tcp://10.0.0.5:8786``.

    Raises
    ------
    SpreadingError
        When nobody answers there, or Dask is not installed.
    """
    if scheduler is not None:
        with cluster_at(scheduler) as executor:
            yield executor
    elif workers > 1:
        with ProcessPoolExecutor(workers) as pool:
            yield pool
    else:
        yield None


def spread(
    work: Callable[[Batch], Result], batches: Iterable[Batch], executor: Executor | None
) -> Iterator[Result]:
    """The result of each batch, in the order of the batches.

    >>> list(spread(len, ["one", "three"], None))
    [3, 5]
    """
    return map(work, batches) if executor is None else executor.map(work, batches)


def counts_shared(files: Sequence[Path], executor: Executor | None) -> Counts:
    """The counts of closed jobs in several tables, each counted by one worker.

    The workers read the files themselves, so a cluster must see them under the same names.

    Raises
    ------
    HistoryError
        As :func:`tubside.learning.from_tables.counts_of_tables` does.
    """
    threads = None if executor is None else 1
    count = partial(_counted, threads=threads)
    return merged(spread(count, [file.absolute() for file in files], executor))


def _counted(file: Path, threads: int | None) -> Counts:
    return counts_of_tables([file], threads=threads)
