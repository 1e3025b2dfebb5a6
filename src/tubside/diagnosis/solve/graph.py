"""Beliefs that the search has met, each kept once, with the floor and ceiling of its cost."""

from __future__ import annotations

from typing import NamedTuple, TypeVar

import numpy as np

from tubside.diagnosis.solve.given import Given
from tubside.diagnosis.solve.problem import Floats
from tubside.diagnosis.solve.state import Numbers

Values = TypeVar("Values", Floats, Numbers)

NODES, LINKS, TRIALS, ADVISED_EVERY, WORK, MOST_WORK = range(6)
STOP, TRIES, ROUNDS = -1, -2, -3
"""What a ceiling rests on when it is no action: stop, remedies in order, and then rounds."""
FIRST_ROWS, FIRST_BYTES = 12_000, 40_000_000
MOST_BYTES = 250_000_000
LEAST_GROWTH = 1.1
"""Less than this share more room is not worth copying for."""
UNBOUNDED = 1 << 62


class Graph(NamedTuple):
    """One row for each belief, and how many rows and links are in use.

    ``counts`` holds these two, the trials made, which of them take the advised step, how
    many beliefs were looked up, and at how many of these trials are broken off.
    ``kids[i, a]`` is where the outcomes of action a start in ``kid`` and ``share``, -1
    before they are looked at; a node -1 is an outcome that ends the job.
    """

    counts: Numbers
    weights: Floats  # (rows, m)
    used: Numbers
    opened: Numbers
    low: Floats
    high: Floats
    choice: Numbers  # what the ceiling rests on
    least: Floats  # (rows, C + R) floor of each action
    kids: Numbers  # (rows, C + R)
    kid: Numbers
    share: Floats
    advised: Numbers
    slots: Numbers  # hash table


def new_graph(given: Given, every: int = 4) -> Graph:
    """Return an empty graph with room for 12,000 beliefs, or fewer where these are large."""
    actions = len(given.cost)
    rows = max(min(FIRST_ROWS, FIRST_BYTES // _bytes_of_row(given)), 4 * room_of(given))
    links = rows * _links_of_row(given)
    return Graph(
        counts=np.array([0, 0, 0, every, 0, UNBOUNDED]),
        weights=np.zeros((rows, given.said.shape[2])),
        used=np.zeros(rows, dtype=np.int64),
        opened=np.zeros(rows, dtype=np.int64),
        low=np.zeros(rows),
        high=np.zeros(rows),
        choice=np.zeros(rows, dtype=np.int64),
        least=np.zeros((rows, actions)),
        kids=np.zeros((rows, actions), dtype=np.int64),
        kid=np.zeros(links, dtype=np.int64),
        share=np.zeros(links),
        advised=np.zeros(rows, dtype=np.int64),
        slots=_empty_slots(rows),
    )


def _links_of_row(given: Given) -> int:
    return max(2, int(given.said.shape[1]))


def _bytes_of_row(given: Given) -> int:
    """What a belief takes: its sets, its actions, links, six numbers, and four slots."""
    numbers = int(given.said.shape[2]) + 2 * len(given.cost) + 2 * _links_of_row(given) + 10
    return 8 * numbers


def _empty_slots(rows: int) -> Numbers:
    """A hash table that stays at least half empty."""
    return np.full(1 << max(4, (2 * rows - 1).bit_length()), -1, dtype=np.int64)


def room_of(given: Given) -> int:
    """Rows and links kept free: what following one action takes."""
    return 2 * int(given.said.shape[1]) + 2


def is_full(given: Given, graph: Graph) -> bool:
    """Whether there is no room left for what the next action leads to."""
    room = room_of(given)
    rows, links = graph.counts[NODES], graph.counts[LINKS]
    return bool(rows + room >= len(graph.low) or links + room >= len(graph.kid))


def grown(given: Given, graph: Graph) -> Graph | None:
    """Return the graph with up to twice the room, None where 250 MB leave none.

    While it is copied both are held; what the copy has beyond the old one is not touched,
    so all together stays below the size of the copy.
    """
    rows = len(graph.low)
    more = min(2 * rows, MOST_BYTES // _bytes_of_row(given))
    if more < LEAST_GROWTH * rows:
        return None
    fields = {
        name: _longer(getattr(graph, name), more * (len(getattr(graph, name)) // rows))
        for name in Graph._fields[1:-1]
    }
    return Graph(counts=graph.counts, slots=_empty_slots(more), **fields)


def _longer(values: Values, length: int) -> Values:
    more = np.zeros((length, *values.shape[1:]), dtype=values.dtype)
    more[: len(values)] = values
    return more
