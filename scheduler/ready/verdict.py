"""What is answered when somebody asks whether a task can start."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

FindingKind = Literal[
    "start",  # the job's own start
    "date",  # not_before, must_finish_by
    "link",  # another task, perhaps with a fixed wait
    "stage",  # what another task applied must have reached a stage
    "window",  # the latest moment after another task, for this one or for one that follows
    "hours",  # people's hours, and whether the work fits into them
    "notice",  # people who want to be booked ahead of time
    "visits",  # people who come on so many days at most
    "air",  # the product's limits, and whether the work fits into the time they hold
    "people",  # a person busy with another task
    "room",  # a closed room
    "dust",  # dusty work and a fresh surface
    "hold",  # tests and inspections planned as passed, or logged
    "log",  # the task itself has begun
    "skipped",  # a task further up is not logged, though what follows it is done
    "plan",  # where the plan has the task
    "who",  # by others than the plan has, where there is a choice
    "chance",  # whether it is sure enough, where something is logged
]


@dataclass(frozen=True)
class Finding:
    """One rule, looked at for one start.

    Args:
        kind: what rule.
        ok: whether it lets the task start then.
        text: why, in words; its times and durations are glued by no-break spaces.
        until: where it is not ok, the first start that this rule alone would let pass, None if it
            never does; where it is ok, how long that lasts, None if no end is in sight [UTC min].
    """

    kind: FindingKind
    ok: bool
    text: str
    until: int | None = None


@dataclass(frozen=True)
class Chance:
    """How surely the task can start, by what is known of the job so far.

    Args:
        at_that_time: in what share of many runs what comes before it is ready by then [0..1].
        earliest: by per cent, the first start from now on that is so sure [UTC min]; None if none.
    """

    at_that_time: float
    earliest: Mapping[int, int | None]


@dataclass(frozen=True)
class Verdict:
    """Whether a task can start at a time, every other task being where the plan has it.

    Args:
        task: its id.
        timezone: IANA name, for showing the times.
        at: the start asked for [UTC min].
        findings: every rule looked at.
        earliest: the first start at or after ``at`` that no rule forbids [UTC min]; None if there
            is none in the time looked at.
        check_on_site: what to look at before believing a forecast.
        chance: how sure it is; None where nothing is logged.
    """

    task: str
    timezone: str
    at: int
    findings: tuple[Finding, ...]
    earliest: int | None
    check_on_site: tuple[str, ...]
    chance: Chance | None = None

    @property
    def yes(self) -> bool:
        """Whether no rule forbids it."""
        return all(finding.ok for finding in self.findings)
