"""A Dask cluster as an executor that outlives its workers.

Dask's own executor takes a result and then asks whether it was there: a worker that dies
between the two lets it fail. Here a result is waited for until some worker has it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError, Executor, Future
from contextlib import contextmanager
from typing import Any, ParamSpec, TypeVar

from tubside.errors import SpreadingError

WAIT_S = 10
"""How long a scheduler may take to answer."""

Given = ParamSpec("Given")
Result = TypeVar("Result")


class Cluster(Executor):
    """Tasks for the workers of a scheduler; those of a worker that died go to another one."""

    def __init__(self, client: Any) -> None:  # noqa: ANN401  # Dask has no types
        self.client = client
        self._held: set[Any] = set()  # Dask forgets what nobody holds

    def submit(
        self, fn: Callable[Given, Result], /, *args: Given.args, **kwargs: Given.kwargs
    ) -> Future[Result]:
        """Hand one task over."""
        promised: Future[Result] = Future()
        promised.set_running_or_notify_cancel()
        task = self.client.submit(fn, *args, **kwargs, pure=False)
        self._held.add(task)
        task.add_done_callback(lambda done: self._hand_over(done, promised))
        return promised

    def _hand_over(self, done: Any, promised: Future[Result]) -> None:  # noqa: ANN401  # Dask has no types
        self._held.discard(done)
        try:
            promised.set_result(done.result())
        except (Exception, CancelledError) as wrong:  # noqa: BLE001  # whatever the task raised
            promised.set_exception(wrong)


@contextmanager
def cluster_at(scheduler: str) -> Iterator[Cluster]:
    """The cluster of a Dask scheduler, such as ``tcp://10.0.0.5:8786``.

    Raises
    ------
    SpreadingError
        When nobody answers there, or Dask is not installed.
    """
    try:
        from distributed import Client  # noqa: PLC0415  # an extra, and slow to load
    except ModuleNotFoundError as wrong:
        msg = "a cluster needs one more package: pip install 'tubside[cluster]'"
        raise SpreadingError(msg) from wrong
    try:
        client: Any = Client(  # type: ignore[no-untyped-call]  # Dask has no types
            scheduler, timeout=WAIT_S, set_as_default=False
        )
    except (OSError, ValueError) as wrong:  # a time-out is an OSError
        msg = f"no Dask scheduler answers at {scheduler}; start one with: dask scheduler"
        raise SpreadingError(msg) from wrong
    with client:
        yield Cluster(client)
