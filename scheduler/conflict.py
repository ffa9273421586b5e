"""No plan is an answer too: a smallest set of rules that cannot all hold, in words."""

from dataclasses import dataclass

from scheduler.errors import ThenwaitError
from scheduler.model import Job


@dataclass(frozen=True)
class Rule:
    """One rule of a job that could give.

    ``kind`` and ``of`` name it; ``text`` says it in words; ``way_out`` what giving it up means.
    """

    kind: str
    of: tuple[str, ...]
    text: str
    way_out: str


@dataclass(frozen=True)
class Conflict:
    """Rules that cannot all hold; without any one of them the rest can.

    ``smallest`` is false where the search had to stop before that was shown.
    """

    rules: tuple[Rule, ...]
    smallest: bool = True


class NoPlan(ThenwaitError):
    """No plan can exist."""

    def __init__(self, conflict: Conflict) -> None:
        self.conflict = conflict
        super().__init__("no plan")


def conflict(job: Job) -> Conflict:
    """A smallest set of rules of the job that cannot all hold."""
    raise NotImplementedError
