"""Proposals of learning in plain words: what the pack says, what the shop's jobs say."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from tubside.learning.proportions import Learned
from tubside.learning.proposal import LEAST_JOBS, Part, Proposal, What
from tubside.learning.rates import Rates
from tubside.pack.fault_model import HEALTHY_IDS
from tubside.pack.schema import Pack
from tubside.service.wording import percent

KINDS: dict[What, str] = {
    "weight": "How often it is the trouble",
    "reported": "How people tell it",
    "outcomes": "What checks show",
    "clears": "How often a remedy clears it",
    "minutes": "How long steps take",
    "price": "What parts cost",
    "ageing": "How it grows with age",
    "second-faults": "Second faults",
}
"""Kind of number -> heading, in the order shown."""
NOTES = {
    KINDS["ageing"]: "1: as often at any age. Above 1: the older the machine, the more often. "
    "Below 1: rather when it is young.",
}
"""Heading -> what its numbers mean, where they are neither shares nor minutes nor money."""
SECOND = "a second fault in the same machine"
HEALTHY_WORDS = dict(zip(HEALTHY_IDS, ("nothing wrong found", "cleared by itself"), strict=True))
ONE_JOB = 1.5


def title_of(proposal: Proposal, pack: Pack) -> str:
    """Of what the number is, in the words of the pack."""
    section, *rest = proposal.target
    match section:
        case "causes" | "healthy":
            words = cause_title(rest[0], pack)
        case "findings":
            of = cause_title(rest[2], pack) if len(rest) > 2 else "a sound machine"
            words = f"{pack.findings[rest[0]].title}, with {of}"
        case "remedies":
            against = f", against {cause_title(rest[2], pack)}" if proposal.what == "clears" else ""
            words = f"{pack.remedies[rest[0]].title}{against}"
        case "checks":
            words = pack.checks[rest[0]].title
        case "parts":
            words = pack.parts[rest[0]].title
        case _:
            words = SECOND
    return words


def says(proposal: Proposal, pack: Pack) -> str:
    """The number that moves most: by the pack, and by the jobs with its interval."""
    part = spoken_part(proposal)
    told = figure_of(proposal)
    of = part_name(proposal, part, pack)
    unit = " of 1000 calls" if proposal.what == "weight" else ""
    interval = f"{told(part.low)} to {told(part.high)}"
    jobs = f"{jobs_words(proposal.jobs)} say{'s' * (proposal.jobs < ONE_JOB)}"
    return f"{of}pack says {told(part.pack)}{unit}, {jobs} {told(part.learned)} ({interval})"


def spoken_part(proposal: Proposal) -> Part:
    """The number to speak of: of those that surprise, if any do, the one that moves furthest."""
    some = [part for part in proposal.parts if part.surprises] or list(proposal.parts)
    return max(some, key=lambda part: abs(part.learned - part.pack))


def part_name(proposal: Proposal, part: Part, pack: Pack) -> str:
    """The name of one number within a row, with a colon; empty where it stands alone."""
    if not part.name:
        return ""
    if proposal.what == "reported":
        return f"{pack.conditions[part.name].title}: "
    outcomes = pack.findings[proposal.target[1]].outcomes
    return f"{outcomes.get(part.name, part.name)}: "


def figure_of(proposal: Proposal) -> Callable[[float], str]:
    """How numbers of its kind are written."""
    match proposal.what:
        case "weight":
            return lambda value: f"{value:.1f}" if value < 10 else f"{value:.0f}"
        case "minutes":
            return lambda value: f"{value:.1f} min" if value < 10 else f"{value:.0f} min"
        case "price":
            return lambda value: f"${value:.2f}"
        case "ageing":
            return lambda value: f"{value:.2f}"
        case _:
            return percent


def jobs_words(jobs: float) -> str:
    """How many jobs speak, jobs in doubt counted by their shares.

    >>> jobs_words(14.2), jobs_words(1.0), jobs_words(0.4)
    ('your 14 jobs', 'your one job', 'less than one job')
    """
    if jobs < 0.5:
        return "less than one job"
    return "your one job" if jobs < ONE_JOB else f"your {jobs:.0f} jobs"


def evidence(proposal: Proposal) -> list[str]:
    """What it rests on, a sentence each."""
    prior = f"The pack's own word counts for {proposal.prior_jobs:.0f} jobs."
    found = [prior] if proposal.prior_jobs >= 0.5 else []
    if proposal.what in {"weight", "clears"}:
        found.insert(0, f"Met in {_count(proposal.met)} of {_count(proposal.jobs)} jobs.")
    rests = proposal.share_by_remedy_only * proposal.met
    if rests >= 0.5:
        of = f"{rests:.0f} of {proposal.met:.0f} with this cause"
        found.append(f"{of} rest only on a remedy that happened to work.")
    if proposal.verdict == "thin":
        found.append("Too few jobs to go by yet.")
    return found


def _count(jobs: float) -> str:
    """How many, those in doubt by their shares; a handful with one decimal.

    >>> _count(0.0705), _count(3.0), _count(25.6)
    ('0.1', '3', '26')
    """
    return f"{jobs:.0f}" if jobs >= 10.0 else f"{jobs:.1f}".removesuffix(".0")


def telling_rates(rates: Sequence[Rates]) -> list[Rates]:
    """Those that some jobs speak of: by how often it was met, the commonest first."""
    some = [one for one in rates if one.by_phone.jobs >= LEAST_JOBS]
    return sorted(some, key=lambda one: -one.by_phone.jobs)


def rate_words(found: Learned) -> str:
    """A share with its interval.

    >>> rate_words(Learned(0.32, 0.2, 0.45, 14.0, 10.0))
    '32 % (20 % to 45 %)'
    """
    return f"{percent(found.mean)} ({percent(found.low)} to {percent(found.high)})"


def cause_title(name: str, pack: Pack) -> str:
    """A cause, or what was healthy, in the words of the pack."""
    return HEALTHY_WORDS.get(name) or pack.causes[name].title
