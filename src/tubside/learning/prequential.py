"""Each job foretold before it is learned from: learned numbers against those never moved.

Three say, from the complaint and the checks that were told, which cause a job will turn out to
have: the pack with all learned so far in it, the pack as it came, and the list of how often each
cause was met at that complaint. Only jobs whose cause was made sure are scored, checks that
decided it are not used, and nothing of a job is known when it is foretold (Dawid, J. R. Stat. Soc.
A 147 (1984), pp. 278-292; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tubside.learning.calibration import Bin, brier_score, log_score, reliability
from tubside.learning.calls import told_chances
from tubside.learning.counts import Counts, counted
from tubside.learning.history import MILLION, ClosedJob
from tubside.learning.learned_tables import learned_tables
from tubside.learning.proportions import Floats
from tubside.learning.proposal import Whose
from tubside.learning.tables import Tables, tables_of
from tubside.learning.worth import USUAL, Worth
from tubside.pack.schema import Pack

LEARN_EVERY = 20
SAYS = ("learned", "pack", "list")


@dataclass(frozen=True, slots=True)
class Foretold:
    """Every scored job in its order: what each of three said (s, n, m), and what came (n,)."""

    origins: tuple[str, ...]
    numbers: Floats
    """(n,) of each scored job among all, from nought."""
    chances: Floats
    true: Floats

    def log_scores(self) -> Floats:
        """Log score of each of ``SAYS`` at each job: (3, n)."""
        return np.array([log_score(said, self.true) for said in self.chances])

    def brier_scores(self) -> Floats:
        """Brier score of each of ``SAYS`` at each job: (3, n)."""
        return np.array([brier_score(said, self.true) for said in self.chances])

    def diagram(self, says: int = 0) -> tuple[Bin, ...]:
        """Reliability of all chances that one of ``SAYS`` stated for single causes."""
        came = np.zeros_like(self.chances[says])
        came[np.arange(len(self.true)), self.true.astype(np.int64)] = 1.0
        return reliability(self.chances[says].ravel(), came.ravel())


def foretold(
    jobs: Sequence[ClosedJob],
    pack: Pack,
    whose: Whose | None = None,
    every: int = LEARN_EVERY,
    worth: Worth = USUAL,
) -> Foretold:
    """Foretell each job from those before it, in the order given; learn anew every so many jobs.

    Parameters
    ----------
    jobs : sequence of ClosedJob
        In the order of closing, of the pack's family.
    pack : Pack
        As it was shipped: what has not learned from these jobs.
    every : int
        After how many jobs the learned numbers are brought up to date.
    """
    whose = whose or Whose(pack.family)
    said = tables_of(pack)
    known, met = Counts({}), np.zeros((len(said.origins), len(said.conditions) + 1))
    rows: list[Floats] = []
    true: list[int] = []
    numbers: list[int] = []
    plain, learned = _Foreteller(said), _Foreteller(said)
    for start in range(0, len(jobs), every):
        block = jobs[start : start + every]
        for number, job in enumerate(block, start):
            origin = _sure_origin(said, job)
            if origin >= 0:
                at = said.conditions.index(job.complaint) if job.complaint else -1
                rows.append(np.array([learned.says(job), plain.says(job), _listed(met, at)]))
                true.append(origin)
                numbers.append(number)
                met[origin, at] += 1.0
        known = known + counted(block)
        learned = _Foreteller(learned_tables(said, known, whose, worth))
    shape = (len(rows), len(SAYS), len(said.origins))
    chances = np.array(rows).reshape(shape).transpose(1, 0, 2)
    return Foretold(said.origins, np.array(numbers), chances, np.array(true))


class _Foreteller:
    """P(origin | complaint, checks told) by some tables; what checks tell is worked out once."""

    def __init__(self, tables: Tables) -> None:
        self.tables, self.chances = tables, told_chances(tables)
        self.conditions = {name: i for i, name in enumerate(tables.conditions)}

    def says(self, job: ClosedJob) -> Floats:
        """The chances of all origins: (m,)."""
        tables = self.tables
        at = self.conditions.get(job.complaint)
        belief = tables.weights.copy() if at is None else tables.weights * tables.reported[:, at]
        for told in job.checks:
            if told.check not in job.decided:
                likely = self.chances(told.check, told.outcome, told.by)
                belief = belief if likely is None else belief * likely
        return np.asarray(belief / belief.sum())


def _listed(met: Floats, at: int) -> Floats:
    """How often each cause was met at this complaint, one job's worth of all calls beside it."""
    everywhere = met.sum(axis=1) + 1.0 / len(met)
    beside = everywhere / everywhere.sum()
    return np.asarray((met[:, at] + beside) / (met[:, at].sum() + 1.0))


def _sure_origin(said: Tables, job: ClosedJob) -> int:
    """The one origin of a job that was made sure; -1 for a job that is not scored."""
    if job.sure == "not-confirmed" or job.family != said.family:
        return -1
    whole = [name for name, part in job.causes.items() if part == MILLION]
    known = not job.complaint or job.complaint in said.conditions
    return said.origin(whole[0]) if whole and known else -1
