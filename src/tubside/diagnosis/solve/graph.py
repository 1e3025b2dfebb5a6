"""Beliefs that the search has met, each kept once, with the floor and ceiling of its cost."""

from __future__ import annotations

from typing import NamedTuple, TypeVar

import numpy as np

from tubside.diagnosis.solve.given import Given
from tubside.diagnosis.solve.problem import Floats
from tubside.diagnosis.solve.state import Numbers

Values = TypeVar("Values", Floats, Numbers)

NODES, LINKS, TRIALS, ADVISED_EVERY = 0, 1, 2, 3
STOP, TRIES, ROUNDS = -1, -2, -3
"""What a ceiling rests on when it is no action: stop, remedies in order, and then rounds."""


class Graph(NamedTuple):
    """One row for each belief, and how many rows and links are in use.

    ``counts`` holds these two, the trials made, and which of them take the advised step.
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


def new_graph(given: Given, rows: int, every: int = 4) -> Graph:
    """Return an empty graph with room for so many beliefs."""
    actions, most = len(given.cost), given.said.shape[1]
    rows = max(rows, 2 * room_of(given))
    links = rows * max(2, most)
    return Graph(
        counts=np.array([0, 0, 0, every]),
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
        slots=np.full(1 << max(4, (2 * rows - 1).bit_length()), -1, dtype=np.int64),
    )


def room_of(given: Given) -> int:
    """Rows and links kept free, so that one trial never runs out of them."""
    return 5000 + 2 * len(given.cost) * int(given.said.shape[1])


def grown(given: Given, graph: Graph) -> Graph:
    """Return the graph with twice the room where it is nearly full, itself otherwise."""
    rows, links = graph.counts[NODES], graph.counts[LINKS]
    room = room_of(given)
    if rows + room < len(graph.low) and links + room < len(graph.kid):
        return graph
    more = {name: _doubled(getattr(graph, name)) for name in Graph._fields[1:-1]}
    slots = np.full(2 * len(graph.slots), -1, dtype=np.int64)
    return Graph(counts=graph.counts, slots=slots, **more)


def _doubled(values: Values) -> Values:
    more = np.zeros((2 * len(values), *values.shape[1:]), dtype=values.dtype)
    more[: len(values)] = values
    return more
